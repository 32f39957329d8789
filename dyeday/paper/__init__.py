"""Printed sheets, the printer, and the help pages."""
