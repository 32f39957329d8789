"""What is seen: the bench as a Textual app. Pictures are computed here as plain values; widgets only show them."""
