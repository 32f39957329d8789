"""Commands that print or weigh: summary, sheet, parcels, weigh, acid."""
