"""Keys: what each means, the key lock, keys typed faster than a question opens."""
