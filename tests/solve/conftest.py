"""How the property tests of this folder run."""

from hypothesis import settings

# No deadline: a busy machine is no failure. Fifty examples keep the folder quick.
settings.register_profile("solve", deadline=None, max_examples=50)
settings.load_profile("solve")
