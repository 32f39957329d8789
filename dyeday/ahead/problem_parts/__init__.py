"""The parts of a day's scheduling problem: its units, hours, fills, chores, and the steps each batch has left.

In a finished forecast `mid_heat` adds work that the kernel does not know, and `tank_fills` shows a fill, which the
kernel plans as the first minutes of its load, as a step of its own.
It imports `ahead/kernel`, and of `ahead` itself `foreseen_steps` and `followed_rows`.
`ahead/from_day` puts the parts together.
"""
