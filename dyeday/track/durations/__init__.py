"""How long work really took, and the studio's own minutes learned from that."""
