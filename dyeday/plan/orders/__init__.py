"""Orders in: a CSV table or typed answers become orders of a plan.

Imports plan.reading and plan.writing. Imported by bench and commands.
"""
