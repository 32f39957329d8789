"""Questions at the foot of the screen: text, choice, the next step of a batch."""
