"""Settings of all tests: the same random cases in every run, so that a change is judged by itself.

`LOOMTAG_RANDOM=1` draws new ones, to look for what the usual ones do not show.
"""

import os

from hypothesis import settings

settings.register_profile("loomtag", deadline=None, derandomize=not os.environ.get("LOOMTAG_RANDOM"))
settings.load_profile("loomtag")
