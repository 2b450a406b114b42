"""For all tests: nobody's own shop file counts, and none is written among the settings of whoever
runs them; none is timed.
"""

from __future__ import annotations

import os

from hypothesis import settings

os.environ["LOADSIM_SHOP"] = ""

# no test is timed: a busy machine must not turn one red
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
