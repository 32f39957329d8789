"""What the bench and the far view say: first as plain values, then as styled lines."""
