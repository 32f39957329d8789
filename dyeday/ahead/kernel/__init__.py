"""A scheduler on whole minutes: it knows tasks, units and hands, no yarn, clock or text.

Imports nothing of the project. Imported by the rest of ahead.
"""
