"""The model as TOML text, and edits that keep the comments of a text."""
