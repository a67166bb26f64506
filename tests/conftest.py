"""The same examples on every run, on slow machines too: chance by seed, here as everywhere. One thread, as programs have it."""

from __future__ import annotations

from hypothesis import settings

from weldworth.core.threads import one_thread

one_thread()
settings.register_profile("weldworth", deadline=None, derandomize=True, database=None)
settings.load_profile("weldworth")
