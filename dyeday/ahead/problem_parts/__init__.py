"""The parts of a day's scheduling problem: its units, hours, fills, chores, and the steps each batch has left.

`mid_heat` and `tank_fills` are about work that the kernel does not know: they add it to a finished forecast.
It may import `ahead/kernel` and `ahead/foreseen_steps`; `ahead/from_day` puts the parts together.
"""
