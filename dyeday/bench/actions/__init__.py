"""What each recording key does: ask, then record.

Imports bench.prompts and bench.live_session. Imported by bench.screens.
"""
