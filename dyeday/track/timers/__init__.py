"""Clocks, prompts and alarms of a day at one moment.

Imports track.day. Imported by track.flags, ahead, paper and bench.
"""
