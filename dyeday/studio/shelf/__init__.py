"""Dye, acid and yarn in stock: movements, what a day took, what to reorder."""
