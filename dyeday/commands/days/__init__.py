"""Commands on a session: check, begin, mark, lists, ahead, close, carry, restore, doctor.

Imports commands.common and commands.books. Imported by name from cli.
"""
