"""The far view on the phones and tablets of the home network: a small page to read, served while it is asked for.

Imports the bench's views, never its screens, and every package above the bench. Imported by commands alone.
"""
