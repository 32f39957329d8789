"""Widgets of the bench: a screen of lines, the line of keys.

Imports Textual and bench.view. Imported by bench.screens.
"""
