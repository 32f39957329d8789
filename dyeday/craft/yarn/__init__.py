"""Yarn: its fibres, counts and lengths; heat into it, cooling and drying."""
