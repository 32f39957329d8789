"""What should happen: the session plan as frozen values, its batches, amounts and doses."""
