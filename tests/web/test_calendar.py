"""The calendar of closing times, read back by the rules of RFC 5545."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

from weldworth.web.calendar import calendar
from weldworth.workbench.lines import Deadline

NOW = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)


def unfolded(text: str) -> list[str]:
    """RFC 5545 section 3.1: a line break followed by a blank is no line break."""
    return text.replace("\r\n ", "").split("\r\n")


def test_lines_end_and_fold_as_the_standard_wants() -> None:
    """RFC 5545 section 3.1: lines end in CR LF and are no longer than 75 octets without it."""
    deadline = Deadline("a" * 32, "Ostrél Forager " * 8, NOW + timedelta(hours=3), "closes", NOW.isoformat())
    text = calendar([deadline], NOW, "http://127.0.0.1:8017")
    assert text.endswith("END:VCALENDAR\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert any(line.startswith("SUMMARY:" + "Ostrél Forager " * 3) for line in unfolded(text))


def test_commas_and_semicolons_are_escaped() -> None:
    """RFC 5545 section 3.3.11: backslash, semicolon, comma and line break are escaped in text."""
    deadline = Deadline("b" * 32, "Van, grey; long\nwheelbase\\", NOW, "closes", NOW.isoformat())
    lines = unfolded(calendar([deadline], NOW, "http://127.0.0.1"))
    assert "SUMMARY:Van\\, grey\\; long\\nwheelbase\\\\: closes" in lines


def test_a_moment_is_told_in_universal_time_and_a_day_as_a_day() -> None:
    """RFC 5545 sections 3.3.4, 3.3.5 and 3.6.1: a day's event ends on the next day."""
    there = datetime(2026, 11, 25, 18, 40, tzinfo=timezone(timedelta(hours=-7)))
    lines = unfolded(
        calendar(
            [Deadline("c" * 32, "A", there, "closes", ""), Deadline("d" * 32, "B", date(2026, 12, 31), "closes", "")],
            NOW,
            "http://x",
        )
    )
    assert "DTSTART:20261126T014000Z" in lines
    assert "DTSTART;VALUE=DATE:20261231" in lines
    assert "DTEND;VALUE=DATE:20270101" in lines


def test_each_event_has_a_name_of_its_own_that_stays() -> None:
    """RFC 5545 section 3.8.4.7: UID is unique and does not change."""
    deadlines = [Deadline("e" * 32, "A", NOW, "closes", ""), Deadline("f" * 32, "A", NOW, "closes", "")]
    first = [line for line in unfolded(calendar(deadlines, NOW, "http://x")) if line.startswith("UID:")]
    later = [line for line in unfolded(calendar(deadlines, NOW + timedelta(days=1), "http://x")) if line.startswith("UID:")]
    assert len(set(first)) == 2
    assert first == later
