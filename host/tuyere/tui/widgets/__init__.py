"""One file for each thing on the watch screen."""
