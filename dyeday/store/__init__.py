"""The data folder: sessions as TinyDB files that survive a power cut, the records, copies of both."""
