"""What the bench offers and asks: the next step, what was probably done since, texts, choices."""
