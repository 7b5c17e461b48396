"""Settings of all tests."""

from hypothesis import settings

collect_ignore = ["plugin_sample"]  # a distribution of its own, with tests that want it installed

# A loaded machine may take a second for what takes a millisecond: a property fails on what it finds, never on time.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
