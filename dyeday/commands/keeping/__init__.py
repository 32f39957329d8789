"""Commands that look after what is kept: doctor and its findings, restore."""
