"""The studio on the screen: water, acid, hours, kit, bases, dyes and colourways, kept in the library."""
