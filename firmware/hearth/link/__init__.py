"""Framing and messages, one definition for board and host."""
