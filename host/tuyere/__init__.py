"""Tuyere: holds a charcoal pit in its band through a long cook and looks after the rest of the job."""

__version__ = "0.1.0"
