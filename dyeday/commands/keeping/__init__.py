"""Commands that look after the data: doctor and restore."""
