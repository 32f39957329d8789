"""What to do next, and why: advice that stays until another sequence is worth the change."""
