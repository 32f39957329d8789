"""The longest texts a person may give, in characters: the same in plans, events, prompts and tables of orders."""

LONGEST_NAME = 80
LONGEST_TAG = 60
LONGEST_NOTE = 1000
