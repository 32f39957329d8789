"""Commands on what outlives a day: lots, shelf, times, library, look-back."""
