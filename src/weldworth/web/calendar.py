"""Closing times as an iCalendar file (RFC 5545)."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

from weldworth.workbench.lines import Deadline

LONGEST_LINE = 75


def calendar(deadlines: Iterable[Deadline], now: datetime, address: str) -> str:
    """The calendar text, lines ended by CR LF and folded at 75 octets. address : of the desk, for links and names."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//weldworth//desk//EN", "CALSCALE:GREGORIAN", "X-WR-CALNAME:weldworth"]
    for deadline in deadlines:
        lines += _event(deadline, now, address)
    return "".join(f"{folded}\r\n" for line in [*lines, "END:VCALENDAR"] for folded in _fold(line))


def _event(deadline: Deadline, now: datetime, address: str) -> list[str]:
    moment = deadline.moment
    if isinstance(moment, datetime):
        start = f"DTSTART:{_utc(moment)}"
        end = f"DTEND:{_utc(moment + timedelta(minutes=15))}"
    else:
        start = f"DTSTART;VALUE=DATE:{moment:%Y%m%d}"
        end = f"DTEND;VALUE=DATE:{_next(moment):%Y%m%d}"
    what = "".join(c if c.isalnum() else "-" for c in deadline.text)[:40]
    return [
        "BEGIN:VEVENT",
        f"UID:{deadline.candidate}-{what}@weldworth",
        f"DTSTAMP:{_utc(now)}",
        start,
        end,
        f"SUMMARY:{_text(f'{deadline.name}: {deadline.text}')}",
        f"URL:{address}/c/{deadline.candidate}/money",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        "TRIGGER:-PT1H",
        f"DESCRIPTION:{_text(deadline.name)}",
        "END:VALARM",
        "END:VEVENT",
    ]


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _next(day: date) -> date:
    return day + timedelta(days=1)


def _text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return escaped.replace("\r\n", "\\n").replace("\n", "\\n").replace("\r", "")


def _fold(line: str) -> list[str]:
    """The line in pieces of at most 75 octets, each but the first begun with a blank, no character torn apart."""
    pieces, piece = [], ""
    for char in line:
        if len((piece + char).encode()) > LONGEST_LINE:
            pieces.append(piece)
            piece = " "
        piece += char
    return [*pieces, piece]
