"""The same examples on every run, on slow machines too: chance by seed, here as everywhere."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("weldworth", deadline=None, derandomize=True, database=None)
settings.load_profile("weldworth")
