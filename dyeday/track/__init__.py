"""What did happen: events, the day folded from them, clocks, alarms and flags."""
