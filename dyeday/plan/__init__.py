"""What should happen: the session plan as plain frozen values, and the text it is read from."""
