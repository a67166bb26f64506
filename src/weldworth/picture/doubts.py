"""What a picture's own record says against what was told: dates that do not fit, programs that have been at the file.

Remarks, not accusations: clocks are wrong, messengers strip dates, and most edits turn or crop.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from weldworth.core.remark import Remark
from weldworth.evidence import dates
from weldworth.picture.exif import Capture
from weldworth.tables import Tables


def date_remarks(
    captures: Mapping[str, Capture], *, today: date, said: date | None = None, owned_since: date | None = None
) -> list[Remark]:
    """Remarks on capture times, per picture name; see `weldworth.evidence.dates.date_remarks`."""
    taken = {name: capture.taken_at.date() if capture.taken_at is not None else None for name, capture in captures.items()}
    return dates.date_remarks(taken, today=today, said=said, owned_since=owned_since)


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
