"""A day from its events, and whether an event can be true of a day.

Imports track/day and track/events. Imported by whoever has events: ahead, studio, store, bench and commands.
"""
