"""What each key does: asks the person, sends the order or the note."""
