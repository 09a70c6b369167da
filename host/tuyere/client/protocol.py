"""What both sides of the loopback agree on."""

VERSION = 1  # of the methods and their structs; a client with another one is refused
