"""What is seen: the Textual app on a running session.

Imports every package above it. Imported by commands alone.
"""
