"""dyeday: live tracking of a hand dyer's day."""

__version__ = "0.1.0"
