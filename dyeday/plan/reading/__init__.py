"""A plan's TOML text becomes the model, or a list of every problem with its line."""
