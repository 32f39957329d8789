"""What will happen: the next thing to do for these hands, worked out from the plan and the day so far."""
