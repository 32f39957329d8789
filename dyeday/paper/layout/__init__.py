"""A sheet as blocks, laid out as plain text pages or HTML.

Imports text and units. Imported by paper.sheets, bench and commands.
"""
