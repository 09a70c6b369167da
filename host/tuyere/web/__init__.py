"""A page for phones and other computers: the words of the screen, served by a process of its own."""
