"""The day as its events made it: records of batches and units, and how each event changes them.

Imports track.events. Imported by track.timers, track.flags, ahead and everything below it.
"""
