"""The events of a day, one class a kind: keys, checks, JSON form, what each does to the day, and its words."""
