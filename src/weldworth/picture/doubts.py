"""What a picture's own record says against what was told: dates that do not fit, programs that have been at the file.

Remarks, not accusations: clocks are wrong, messengers strip dates, and most edits turn or crop.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from weldworth.core.remark import Remark
from weldworth.picture.exif import Capture
from weldworth.tables import Tables

_SLACK = timedelta(days=1)  # time zones


def date_remarks(
    captures: Mapping[str, Capture], *, today: date, said: date | None = None, owned_since: date | None = None
) -> list[Remark]:
    """Remarks on capture times, per picture name.

    said : the day on which, or after which, the pictures are said to have been taken. owned_since : the day on which the
    present owner is said to have got the vehicle. today : nothing can be taken later.
    """
    remarks = []
    for name, capture in captures.items():
        if capture.taken_at is None:
            if said is not None:
                text = "carries no capture time, as after a messenger; when the date matters, ask for the file itself"
                remarks.append(Remark("no-date", name, text))
            continue
        taken = capture.taken_at.date()
        if taken > today + _SLACK:
            remarks.append(Remark("clock", name, f"is dated {taken}, which is still to come; the camera's clock is wrong"))
            continue
        if owned_since is not None and taken < owned_since - _SLACK:
            text = f"is dated {taken}, before the present owner is said to have got it ({owned_since}); ask who took it and when"
            remarks.append(Remark("before-owner", name, text))
        elif said is not None and taken < said - _SLACK:
            text = f"is dated {taken}, {(said - taken).days} days before it is said to be taken ({said}); ask for a fresh one"
            remarks.append(Remark("older-than-said", name, text))
    return remarks


def software_remarks(captures: Mapping[str, Capture], tables: Tables) -> list[Remark]:
    """A remark for each picture whose file names a program of picture_software.csv; a camera's own firmware is none."""
    rows = [(row.text("word"), row.text("meaning")) for row in tables.rows("picture_software.csv", ("word", "meaning"))]
    remarks = []
    for name, capture in captures.items():
        for program in capture.software:
            meaning = next((meaning for word, meaning in rows if word in program.lower()), None)
            if meaning is not None:
                text = f"was saved by {program} ({meaning}); often only turned or cropped: ask for the file of the camera"
                remarks.append(Remark("edited", name, text))
                break
    return remarks
