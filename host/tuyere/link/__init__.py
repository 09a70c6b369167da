"""The port and the protocol: serial line, pseudo-terminal or network behind one interface."""
