"""Files outside the data folder: those a person names, and this computer's own settings and crash details.

Imports store and what is above it. Imported by paper, bench, watch and commands.
"""
