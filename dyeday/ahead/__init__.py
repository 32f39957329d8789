"""What will happen: the rest of the day as a schedule, both answers about its end, and warnings."""
