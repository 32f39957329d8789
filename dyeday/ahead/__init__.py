"""What will happen: the rest of the day as a schedule, both answers about its end, and warnings.

Imports track and what stands above it. Imported by paper, bench and commands.
"""
