"""A scheduler on whole minutes: it knows tasks, units and hands, no yarn, clock or text."""
