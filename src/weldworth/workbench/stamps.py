"""Where an entry came from that was made away from the desk: on which walk, under which mark, and when it was taken."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime

from weldworth.core.errors import Problem

WALK, MARK, TAKEN = "walk", "mark", "taken_at"
STAMP = (WALK, MARK, TAKEN)
"""walk : id of the walk. mark : id that the phone gave it. taken_at : moment in UTC."""
_ID = re.compile(r"[0-9a-f]{32}")


def is_mark(value: object) -> bool:
    """Whether it is 32 hexadecimal digits, as walks and phones name things."""
    return isinstance(value, str) and _ID.fullmatch(value) is not None


def without(body: Mapping[str, object]) -> dict[str, object]:
    """The body without its stamp."""
    return {key: value for key, value in body.items() if key not in STAMP}


def stamp_problems(body: Mapping[str, object]) -> list[Problem]:
    """What is wrong with the stamp of a body, where it has one."""
    problems = [
        Problem(key, f"{key} {str(body[key])[:40]!r} is none; give 32 hexadecimal digits in lower case")
        for key in (WALK, MARK)
        if key in body and not is_mark(body[key])
    ]
    if TAKEN in body and moment_in(body[TAKEN]) is None:
        problems.append(
            Problem(TAKEN, f"taken_at {str(body[TAKEN])[:40]!r} is no moment; give one like 2026-11-25T15:28:00+00:00")
        )
    return problems


def moment_in(value: object) -> datetime | None:
    """A moment with its zone, in UTC, or None where it is none."""
    try:
        found = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None
    return found.astimezone(UTC) if found is not None and found.tzinfo is not None else None


def ago(then: datetime, now: datetime) -> str:
    """How long ago in words, the same whatever zone the reader lives in; both moments with their zone.

    >>> noon = datetime(2026, 11, 25, 12, tzinfo=UTC)
    >>> [ago(noon, noon.replace(**later)) for later in ({"second": 40}, {"minute": 1}, {"hour": 15}, {"day": 28})]
    ['just now', '1 minute ago', '3 hours ago', '3 days ago']
    """
    minutes = int((now - then).total_seconds() // 60)
    if minutes < 1:
        return "just now"
    size, word = next((size, word) for size, word in ((24 * 60, "day"), (60, "hour"), (1, "minute")) if minutes >= size)
    return f"1 {word} ago" if minutes < 2 * size else f"{minutes // size} {word}s ago"
