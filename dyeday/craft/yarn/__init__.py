"""Yarn: its fibres, counts and lengths; heat into it, cooling and drying.

Imports craft.errors. Imported by craft.water, plan, track and paper.
"""
