"""What will happen: the rest of the day as a schedule, when it ends, what is rinsed by stop, and warnings."""
