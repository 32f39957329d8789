"""The events of a day, one class a kind: keys, checks, JSON form, what each does to the day, and its words.

Imports track/entries and track/day. Imported by the rest of track, studio, store, bench and commands.
"""
