"""The events of a day, one class for each kind: its keys, checks, effect on the day and words."""
