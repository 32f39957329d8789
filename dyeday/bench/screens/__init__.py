"""The screens: bench, far view, forecast, flags, log, orders, sheets, help, start."""
