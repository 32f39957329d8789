"""Reading one line of a day's JSON: typed keys and their checks."""
