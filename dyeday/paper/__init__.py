"""What is printed: sheets as plain text that fits a page, and the road to the printer."""
