"""When a picture was taken by its camera's clock, against when it is said to have been and what is known of the vehicle.

Remarks, not accusations: clocks are wrong and messengers strip dates.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from datetime import date, timedelta

from weldworth.core.remark import Remark

_SLACK = timedelta(days=1)  # time zones


def date_remarks(
    taken: Mapping[str, date | None], *, today: date, said: date | None = None, owned_since: date | None = None
) -> list[Remark]:
    """Remarks on the days on which pictures were taken, None where the file does not tell, per picture name.

    said : the day on which the pictures are said to have been taken. owned_since : the day on which the present owner is said
    to have got the vehicle. today : nothing can be taken later.
    """
    remarks = []
    for name, day in taken.items():
        if day is None:
            if said is not None:
                text = "carries no capture time, as after a messenger; when the date matters, ask for the file itself"
                remarks.append(Remark("no-date", name, text))
            continue
        if day > today + _SLACK:
            remarks.append(Remark("clock", name, f"is dated {day}, which is still to come; the camera's clock is wrong"))
            continue
        if owned_since is not None and day < owned_since - _SLACK:
            text = f"is dated {day}, before the present owner is said to have got it ({owned_since}); ask who took it and when"
            remarks.append(Remark("before-owner", name, text))
        elif said is not None and day < said - precision(said):
            text = f"is dated {day}, {(said - day).days} days before it is said to be taken ({said}); ask for a fresh one"
            remarks.append(Remark("older-than-said", name, text))
        elif said is not None and day > said + precision(said):
            text = f"is dated {day}, {(day - said).days} days after it is said to be taken ({said}); one of the two is wrong"
            remarks.append(Remark("newer-than-said", name, text))
    return remarks


def precision(said: date) -> timedelta:
    """How far off a day may be that was told: the middle of a month or of a year may stand for all of it.

    >>> precision(date(2026, 11, 2)).days, precision(date(2026, 10, 16)).days, precision(date(2026, 7, 2)).days
    (1, 16, 183)
    """
    year = date(said.year, 1, 1) + (date(said.year, 12, 31) - date(said.year, 1, 1)) / 2
    first = said.replace(day=1)
    month = first + (said.replace(day=monthrange(said.year, said.month)[1]) - first) / 2
    return timedelta(days=183 if said == year else 16 if said == month else 1)
