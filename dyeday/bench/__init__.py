"""What is seen: the Textual app on a running session."""
