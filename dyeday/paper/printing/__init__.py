"""The way to the printer: pages kept as files, queued, and what stands in between."""
