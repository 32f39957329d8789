"""Themes, swatches, signs for terminals without them, and sounds."""
