"""What the bench and the far view say, computed as plain values.

Imports ahead, track and paper. Imported by the screens and actions of the bench.
"""
