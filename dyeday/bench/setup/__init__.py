"""The studio on the screen: water, acid, hours, kit, bases, dyes and colourways, kept in the library.

Values and questions are separate from the widgets; the reader of plans judges the values.
"""
