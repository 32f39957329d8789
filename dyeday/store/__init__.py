"""What the data folder keeps: sessions as TinyDB files that survive a pulled plug, the records, copies of both.

Imports files, studio and what stands above them. Imported by paper, bench, watch and commands.
"""
