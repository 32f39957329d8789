"""Dye: depth of shade, exhaustion, colour difference and what scale and jug can measure."""
