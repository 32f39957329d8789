"""Questions at the foot of the screen: text, choice, the next step of a batch.

Imports Textual and bench.input. Imported by bench.actions and bench.screens.
"""
