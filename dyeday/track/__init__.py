"""What did happen today: events, the day folded from them, timers and flags."""
