"""Commands on a session: check, begin, mark, lists, ahead, close, carry.

Imports commands.common and commands.books. Imported by name from cli.
"""
