"""What is to come: when a piece is done, when to wrap it, how long the hold stays hot, when the fuel ends."""
