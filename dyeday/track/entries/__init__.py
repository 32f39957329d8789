"""Reading one line of a day's JSON: typed keys and their checks.

Imports plan and what stands above it. Imported by track/day and track/events.
"""
