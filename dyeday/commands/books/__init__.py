"""Commands on what outlives a day: lots, shelf, times, library, orders, look-back."""
