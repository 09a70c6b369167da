"""The firmware: everything the board carries, and nothing else."""
