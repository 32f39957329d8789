"""What is printed, and the way to the printer."""
