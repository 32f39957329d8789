"""Dye: depth of shade, exhaustion, colour difference and what scale and jug can measure.

Imports craft.errors. Imported by plan, track, studio and paper.
"""
