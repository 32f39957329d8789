"""The far view on phones and tablets in the home network: a small read-only page."""
