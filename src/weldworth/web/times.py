"""Times as people say them: the clock, how long until then, and under which heading it falls."""

from __future__ import annotations

from calendar import day_abbr, month_abbr
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

TODAY, WEEK, LATER, NO_CLOCK, OVER = "Closing today", "Closing this week", "Closing later", "No clock", "Closed"
GROUPS = (TODAY, WEEK, LATER, NO_CLOCK, OVER)


@dataclass(frozen=True, slots=True)
class Closing:
    """When something closes. clock : "18:40", "Thu 12:00" or "14 Dec". until : "in 3 h 12", "in 4 days" or "closed"."""

    clock: str
    until: str
    group: str
    moment: datetime | None = None


def closing(closes: str | date | datetime | None, now: datetime) -> Closing:
    """The closing time as seen at `now` (local, with or without zone); a day alone closes at its end.

    >>> closing("2026-11-25T18:40", datetime(2026, 11, 25, 15, 28))
    Closing(clock='18:40', until='in 3 h 12', group='Closing today', moment=datetime.datetime(2026, 11, 25, 18, 40))
    >>> closing("2026-11-29", datetime(2026, 11, 25, 15, 28)).until
    'in 4 days'
    """
    if closes is None or closes == "":
        return Closing("", "", NO_CLOCK)
    day, moment = moment_of(closes)
    at = now.replace(tzinfo=None)
    left = moment - at
    if left < timedelta(0):
        return Closing(short_day(moment, at.year) if moment.date() != at.date() else f"{moment:%H:%M}", "closed", OVER, moment)
    if moment.date() == at.date():
        return Closing("today" if day else f"{moment:%H:%M}", until(left), TODAY, moment)
    name = day_abbr[moment.weekday()]
    if left < timedelta(days=6.5):
        return Closing(name if day else f"{name} {moment:%H:%M}", until(left, moment.date() - at.date()), WEEK, moment)
    return Closing(short_day(moment, at.year), until(left, moment.date() - at.date()), LATER, moment)


def moment_of(closes: str | date | datetime) -> tuple[bool, datetime]:
    """(whether only a day was given, the moment without zone: local time)."""
    if isinstance(closes, str):
        closes = datetime.fromisoformat(closes) if "T" in closes or " " in closes else date.fromisoformat(closes)
    if isinstance(closes, datetime):
        return False, closes.astimezone().replace(tzinfo=None) if closes.tzinfo else closes
    return True, datetime.combine(closes, time(23, 59, 59))


def until(left: timedelta, days: timedelta | None = None) -> str:
    """How long that is.

    >>> until(timedelta(minutes=45)), until(timedelta(hours=20)), until(timedelta(hours=60), timedelta(days=2))
    ('in 45 min', 'in 20 h', 'in 2 days')
    """
    minutes = int(left.total_seconds() // 60)
    if minutes < 60:
        return f"in {minutes} min"
    if minutes < 12 * 60:
        return f"in {minutes // 60} h {minutes % 60:02d}"
    if minutes < 36 * 60:
        return f"in {minutes // 60} h"
    count = days.days if days is not None else minutes // 1440
    return f"in {count} days"


def short_day(moment: date | datetime, year: int | None = None) -> str:
    """25 Nov, with the year where it is another one."""
    text = f"{moment.day} {month_abbr[moment.month]}"
    return text if year in (None, moment.year) else f"{text} {moment.year}"


def day_and_time(moment: datetime) -> str:
    """Wed 25 Nov, 15:28, in local time."""
    there = moment.astimezone() if moment.tzinfo else moment
    return f"{day_abbr[there.weekday()]} {short_day(there)}, {there:%H:%M}"
