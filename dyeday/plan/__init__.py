"""What should happen: the session plan as frozen values, its batches, amounts and doses.

Imports craft, units and text. Imported by track and everything below it.
"""
