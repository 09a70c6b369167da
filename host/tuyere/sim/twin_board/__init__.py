"""The twin's own board: files staged next to `hearth`, with simulated chips on its pins."""
