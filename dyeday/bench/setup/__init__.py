"""The studio on the screen: water, acid, hours, kit, bases, dyes and colourways, kept in the library.

The values and what is asked are apart from the widgets; whether a value is sound the reader of plans says.
"""
