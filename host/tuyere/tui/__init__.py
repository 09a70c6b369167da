"""The terminal screens. Only this package imports Textual. `plain_screen` and all that it needs do without."""
