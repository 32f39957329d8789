"""The way to the printer: pages kept as files, queued, and what stands in between.

Imports paper.layout and store. Imported by bench and commands.
"""
