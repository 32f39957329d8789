"""A plan's TOML text becomes the model, or a list of every problem with its line.

Imports the plan's model and units. Imported by the parts of plan that read text, store and commands.
"""
