"""What the engine refuses, in words for a person."""


class Refusal(Exception):
    """Something the engine will not do, in one sentence for a person."""
