"""Printing: pages saved as files and sent to the system's print queue."""
