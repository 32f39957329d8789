"""Widgets of the bench: a screen of lines, the line of keys."""
