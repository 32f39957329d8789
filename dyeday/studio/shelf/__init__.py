"""Dye, acid and yarn in stock: movements, what a day took, what to reorder.

Imports track and studio.lots. Imported by store, paper, bench and commands.
"""
