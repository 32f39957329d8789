"""What will happen: the rest of the day as a schedule, with both answers about its end and warnings."""
