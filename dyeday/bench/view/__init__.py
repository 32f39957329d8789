"""What the bench and the far view say, computed as plain values."""
