"""Commands that print or weigh: summary, sheet, parcels, weigh, acid.

Imports commands.common and commands.days. Imported by name from cli.
"""
