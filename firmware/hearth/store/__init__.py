"""What the board keeps until the host has it."""
