"""Finished lots: made from a closed day, found by their words, compared, dyed again."""
