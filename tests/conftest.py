"""Settings shared by all tests."""

from hypothesis import settings

# The same examples on every machine, and no time limit per example: shared machines are slow at times.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")
