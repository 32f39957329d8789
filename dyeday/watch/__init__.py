"""The far view on the phones and tablets of the home network: a small page to read, served while it is asked for."""
