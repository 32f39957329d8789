"""What outlives a day, in one SQLite database: lots, shelf, library, learned times, how forecasts were kept.

Imports what `dyeday.store` may and sessions; paper, bench and commands ask it. Sessions stay files of their own.
"""
