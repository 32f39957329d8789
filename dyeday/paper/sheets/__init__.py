"""One module a sheet, and the lines of the forecast that screens share with paper."""
