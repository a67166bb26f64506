"""Findings on a picture: as they are drawn over it and listed, and the form that puts a sign on a part of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from weldworth.belief.sight import lexicon
from weldworth.core.errors import BadInput, Problem
from weldworth.evidence import pictures
from weldworth.vehicle.plan import Plan, Zone
from weldworth.web.forms import Posted
from weldworth.web.pages.metal import PROBES, QUICK, SOURCES
from weldworth.web.picture_lines import Shown
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Entry
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.sights import source_of

BOX = ("left", "top", "right", "bottom")
MARKING = ("zone", "sign", "source", "quality", "seen_on", "note", "outline", *BOX)
FIELDS = (*MARKING, "region", "picture")
_POINT = re.compile(r"(\d+(?:\.\d+)?)\s*,\s*(\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class Mark:
    """A finding on the picture. box : left, top, right, bottom in pixels, or None for the whole picture.

    outline : points "across,down across,down" as SVG takes them, "" where there is none. words : what is seen, in words.
    """

    seq: int
    zone: str
    label: str
    words: str
    told: str
    box: tuple[int, int, int, int] | None
    outline: str
    entry: Entry


def marks_on(view: CandidateView, plan: Plan, name: str, desk: Desk) -> list[Mark]:
    """The findings that name the picture, in the order in which they were recorded."""
    known, people = lexicon(desk.tables()).sources, desk.people.names()
    found = []
    for entry in view.standing:
        if entry.kind != "finding" or entry.body.get("picture") != name:
            continue
        body, zone = entry.body, str(entry.body.get("zone"))
        sign, source = str(body.get("sign")).replace("-", " "), str(body.get("source"))
        outline = cast(Sequence[Sequence[float]], body.get("outline", ()))
        region = cast(Sequence[int] | None, body.get("region"))
        if region is None and outline:
            across, down = [point[0] for point in outline], [point[1] for point in outline]
            region = (int(min(across)), int(min(down)), int(max(across)) + 1, int(max(down)) + 1)
        told = [known[source].name if source in known else source, people.get(entry.by, entry.by)]
        told += [f"quality {body['quality']}"] if "quality" in body else []
        told += [str(body["note"])] if "note" in body else []
        found.append(
            Mark(
                seq=entry.seq,
                zone=zone,
                label=plan.zone(zone).label if zone in plan.index else zone,
                words=f"no {sign}" if body.get("absent") else sign,
                told="; ".join(told),
                box=cast(tuple[int, int, int, int], tuple(region)) if region is not None else None,
                outline=" ".join(f"{x:g},{y:g}" for x, y in outline),
                entry=entry,
            )
        )
    return found


def mark_words(desk: Desk) -> dict[str, object]:
    """The words of the form: signs that a picture can show, and who may have seen them."""
    words = lexicon(desk.tables())
    return {
        "quick": [(sign, words.signs[sign].meaning) for sign in QUICK],
        "probes": [(sign, words.signs[sign].meaning) for sign in PROBES],
        "sources": [(source, words.sources[source].name) for source in SOURCES],
    }


def empty_form(one: Shown, last: object, desk: Desk) -> dict[str, str]:
    """The form before anything is drawn: the zone that the picture shows, how it came, its measured quality, its day."""
    zone = one.zones[-1][0] if one.zones else last.id if isinstance(last, Zone) else ""
    quality = f"{one.file.verdict.q:.2f}" if one.file is not None else ""
    day = one.taken_on.isoformat() if one.taken_on is not None else ""
    given = {"zone": zone, "source": came(one, desk), "quality": quality, "seen_on": day, "absent": ""}
    return dict.fromkeys(MARKING, "") | given


def came(one: Shown, desk: Desk) -> str:
    """How the picture came, as it is weighed: as somebody said, else by its age."""
    told = one.line.facts.get("source")
    said = pictures.Shown(one.line.name, source=str(told) if told else None, taken_on=one.taken_on)
    return source_of(said, None, desk.clock.today(), lexicon(desk.tables()).old["after_years"])


def came_words(one: Shown, desk: Desk) -> str:
    """The same in words."""
    source, known = came(one, desk), lexicon(desk.tables()).sources
    words = known[source].name if source in known else source
    return words if one.line.facts.get("source") else f"{words}, as nobody has said"


def form_of(mark: Mark) -> dict[str, str]:
    """The form with a finding in it, to be corrected."""
    body = mark.entry.body
    form = {key: str(body.get(key, "")) for key in ("zone", "sign", "source", "quality", "seen_on", "note")}
    numbers = mark.box if mark.box is not None and not mark.outline else ("",) * 4
    form |= {key: str(number) for key, number in zip(BOX, numbers, strict=True)}
    return form | {"outline": mark.outline, "absent": "yes" if body.get("absent") else ""}


def body_of(posted: Posted, one: Shown) -> dict[str, object]:
    """The finding that a form says. Raises BadInput for what cannot be read and for a mark that leaves the picture."""
    body: dict[str, object] = {key: posted.text(key) for key in ("zone", "sign", "source", "seen_on", "note")}
    body["picture"] = one.line.name
    if posted.ticked("absent"):
        body["absent"] = True
    quality = posted.number("quality")
    if quality is not None:
        body["quality"] = quality
    outline, box = posted.text("outline"), box_of(posted, one.size)
    if outline:
        body["outline"] = outline_of(outline, one.size, posted.problems)
    elif box is not None:
        body["region"] = list(box)
    posted.check()
    return {key: value for key, value in body.items() if value != ""}


def box_of(posted: Posted, size: tuple[int, int]) -> tuple[int, int, int, int] | None:
    """The box of a form in whole pixels, None where all four are empty; what is wrong goes to the form's problems."""
    given = [posted.number(key) for key in BOX]
    if all(number is None for number in given):
        return None
    if any(number is None for number in given):
        missing = [key for key, number in zip(BOX, given, strict=True) if number is None]
        if not posted.problems:
            posted.problems.append(Problem("region", f"the box lacks {' and '.join(missing)}; give all four, or none"))
        return None
    left, top, right, bottom = (round(number) for number in given if number is not None)
    wide, high = size
    if not (0 <= left < right <= wide and 0 <= top < bottom <= high):
        inside = f"0 to {wide} across and 0 to {high} down"
        text = f"the box {left}, {top}, {right}, {bottom} is empty or leaves the picture; give its sides within {inside}"
        posted.problems.append(Problem("region", text))
        return None
    return left, top, right, bottom


def outline_of(text: str, size: tuple[int, int], problems: list[Problem]) -> list[list[float]]:
    """The points of an outline; what is wrong goes to `problems`."""
    try:
        found = points_in(text, "outline")
    except BadInput as error:
        problems += error.problems
        return []
    if len(found) < 3:
        problems.append(Problem("outline", f"{text[:40]!r} is no outline; give three or more points"))
    elif any(x > size[0] or y > size[1] for x, y in found):
        problems.append(Problem("outline", f"leaves the picture, which has {size[0]} x {size[1]} pixels"))
    return [[x, y] for x, y in found]


def points_in(text: str, field: str) -> list[tuple[float, float]]:
    """Points written "120,80 310,95 ..."; raises BadInput naming the field for what is none."""
    found = [(float(x), float(y)) for x, y in _POINT.findall(text)]
    if _POINT.sub("", text).strip(" ;"):
        raise BadInput([Problem(field, f"{text[:40]!r} are no points; write them like 120,80 310,95 200,240")])
    return found


def region_in(text: str, size: tuple[int, int]) -> tuple[int, int, int, int] | None:
    """A box written "left,top,right,bottom" in an address; None where it is empty. Raises BadInput."""
    if not text:
        return None
    parts = text.split(",")
    if len(parts) == 4 and all(part.strip().isdigit() for part in parts):
        left, top, right, bottom = (int(part) for part in parts)
        if left < right <= size[0] and top < bottom <= size[1]:
            return left, top, right, bottom
    raise BadInput([Problem("region", f"{text[:40]!r} is no box in this picture of {size[0]} x {size[1]} pixels; draw it again")])
