"""Commands that open a screen or serve the page for phones, sounds, and the import of orders."""
