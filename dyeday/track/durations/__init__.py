"""How long work really took, and the studio's own minutes learned from that.

Imports track.day. Imported by ahead, studio and store.
"""
