"""How Hypothesis draws its examples; ``HYPOTHESIS_PROFILE`` names the profile."""

import os

from hypothesis import settings

# No deadline: a busy machine is no fault of the code. "quick" is for many runs of the same tests.
settings.register_profile("steady", deadline=None)
settings.register_profile("quick", deadline=None, max_examples=20, derandomize=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))
