"""A day from its events, and whether an event can be true of a day."""
