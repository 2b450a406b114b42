"""For all tests: nobody's own shop file counts, and none is written among the settings of whoever runs
them."""

from __future__ import annotations

import os

os.environ["LOADSIM_SHOP"] = ""
