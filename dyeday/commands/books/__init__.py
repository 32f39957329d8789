"""Commands on what outlives a day: lots, shelf, times, library, orders, look-back.

Imports commands.common. Imported by name from cli, and by the other commands.
"""
