"""One module a sheet, and the lines of the forecast that screens share with paper.

Imports paper.layout, ahead and studio. Imported by bench and commands.
"""
