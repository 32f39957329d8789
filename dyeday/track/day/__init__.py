"""The day as its events made it: records of batches and units, what can be asked of them, and the fold.

Imports track.events. Imported by track.timers, track.flags, ahead and everything below it.
"""
