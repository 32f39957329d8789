"""Timers, prompts and alarms of a day at one moment."""
