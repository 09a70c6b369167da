"""How a screen or a program reaches an engine: find it, start it, ask it."""
