"""What `tests/bench/abuse.py` does to an engine, and what must hold after it."""
