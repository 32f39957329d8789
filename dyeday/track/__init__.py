"""What did happen today: events, the day folded from them, timers and flags.

Imports plan and what stands above it. Imported by ahead and everything below it.
"""
