"""The parts of a day's scheduling problem: its units, hours, fills, chores, and the steps each batch has left.

`ahead/from_day` puts them together. In a finished forecast, `mid_heat` and `fill_steps` make steps of their own of
work that the kernel does not know or counts with a load.
"""
