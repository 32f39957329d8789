"""The screens: bench, far view, forecast, flags, log, orders, sheets, help, start.

Imports bench.view, bench.widgets, bench.prompts and bench.input. Imported by bench.app.
"""
