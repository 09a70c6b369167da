"""The plan of a cook, worked back from serving: how much, when, with what odds, and what the hands do."""
