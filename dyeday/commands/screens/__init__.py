"""Commands that open a screen: bench, demo, start screen, orders."""
