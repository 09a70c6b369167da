"""One chip or part a file; buses and pins are handed in."""
