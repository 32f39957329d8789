"""The day as one value: records of batches and units, its events, and what can be asked of them."""
