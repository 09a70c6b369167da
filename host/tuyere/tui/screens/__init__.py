"""The watch screen and what opens over it."""
