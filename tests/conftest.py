"""How hypothesis draws: the same examples on every machine, or new ones.

`fixed`, the default, draws the same examples each time, so that a first run of the tests depends on nothing but the
code. `drawn` draws new ones from the seed it is given; `.ci/run` runs it with several seeds and prints them:

    pytest -m hypothesis --hypothesis-profile=drawn --hypothesis-seed=N

An example that fails there goes into the test as an `@example`, with a comment on what it showed. No profile has a
deadline: tests don't measure time.
"""

from hypothesis import settings

settings.register_profile("fixed", derandomize=True, deadline=None)
settings.register_profile("drawn", max_examples=300, deadline=None, print_blob=True)
settings.load_profile("fixed")
