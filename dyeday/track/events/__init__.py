"""The events of a day: their keys, checks, JSON form and words.

Imports plan and track.timestamp. Imported by the rest of track, studio, store, bench and commands.
"""
