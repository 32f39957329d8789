"""What outlives a day, as values: shelf, lots, parcels, labels, costs, and what goes over into the next day."""
