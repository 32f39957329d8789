"""The parts of a day's scheduling problem: its units, hours, fills, chores, and the steps each batch has left.

It may import `ahead/kernel` and `ahead/foreseen_steps`; `ahead/from_day` puts the parts together.
"""
