"""The trade's arithmetic: pure functions on floats, units in the names; no clock, file or screen."""
