"""What outlives a day, in one SQLite database: lots, shelf, library, learned times, forecast accuracy."""
