"""Commands that open a screen: bench, demo, start screen, orders.

Imports bench and commands.books. Imported by name from cli.
"""
