"""What the data folder keeps: sessions as TinyDB files that survive a pulled plug, the records, copies of both."""
