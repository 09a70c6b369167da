"""The board on the bench: find it, load it, check it, set it. Records it holds are never lost to any of this."""
