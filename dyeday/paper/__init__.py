"""What is printed, and the way to the printer.

Imports ahead, studio, store and what stands above them. Imported by bench and commands.
"""
