"""The model as TOML text, and edits that keep the comments of a text.

Imports plan.reading to prove each edit by reading it back. Imported by studio, store, bench and commands.
"""
