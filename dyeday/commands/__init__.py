"""What each shell command does; `dyeday.cli` calls them by name.

Imports every package above it. Imported by cli alone.
"""
