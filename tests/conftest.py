"""Property tests take the same examples every time where CI is set, and no machine is too slow."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("searching", deadline=None)
settings.load_profile("repeatable" if os.environ.get("CI") else "searching")
