"""The terminal screens. Only this package imports Textual; `plain` and all it needs do without."""
