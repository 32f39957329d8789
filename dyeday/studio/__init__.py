"""What outlives a day, as values: shelf, lots, parcels, costs, and what goes over into the next day.

Imports track and what stands above it. Imported by store, paper, bench and commands.
"""
