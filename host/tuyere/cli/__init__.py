"""The commands, one a file; each imports what it needs when it runs."""
