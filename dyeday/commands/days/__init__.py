"""Commands on a session: check, begin, mark, lists, ahead, close, carry."""
