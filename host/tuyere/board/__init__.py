"""The board on the bench: find it, load it, check it, set it. None of this loses a record that it holds."""
