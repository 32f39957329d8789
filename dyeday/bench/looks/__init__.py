"""Themes, swatches, signs for terminals without them, and sounds.

Imports Textual and text. Imported by the rest of the bench.
"""
