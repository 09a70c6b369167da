"""The twin's own board: files that are staged next to `hearth`, with simulated chips on its pins."""
