"""How often somebody may try: a few times, then ever longer waits."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from weldworth.web.errors import TooOften


@dataclass
class Tries:
    """Failed tries by who made them. most : failures within `span` before the next try is refused."""

    most: int = 5
    span: timedelta = timedelta(minutes=5)
    _failed: dict[str, deque[datetime]] = field(default_factory=dict)

    def check(self, who: str, now: datetime) -> None:
        """Raises TooOften while `who` has used up his tries."""
        failed = self._recent(who, now)
        if len(failed) >= self.most:
            wait = int((failed[0] + self.span - now).total_seconds()) + 1
            raise TooOften(f"Too many tries. Wait {wait // 60 + 1} minutes, then try again.", wait)

    def note(self, who: str, now: datetime) -> None:
        """One more failed try."""
        self._recent(who, now).append(now)

    def forget(self, who: str) -> None:
        """It went well."""
        self._failed.pop(who, None)

    def _recent(self, who: str, now: datetime) -> deque[datetime]:
        for name in [name for name, times in self._failed.items() if not times or times[-1] <= now - self.span]:
            del self._failed[name]
        times = self._failed.setdefault(who, deque())
        while times and times[0] <= now - self.span:
            times.popleft()
        return times
