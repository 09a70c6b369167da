"""The report of a night: one file that needs nothing else, to read, to print and to show to others."""
