"""Commands that look after what is kept: doctor and its findings, restore.

Imports commands.common. Imported by name from cli.
"""
