"""What each recording key does: ask, then record."""
