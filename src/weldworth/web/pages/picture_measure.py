"""Millimetres in a picture, and a number read from a plate: worked out when asked for, kept only when somebody says so."""

from __future__ import annotations

import base64
from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, Problem
from weldworth.picture.decode import Pixels, encoded, resized
from weldworth.picture.limits import limits
from weldworth.picture.plane import Measure
from weldworth.picture.plate import read_plate
from weldworth.picture.quality import read
from weldworth.picture.scale import Reference, find_reference, from_points
from weldworth.picture.sizes import objects
from weldworth.web.forms import Posted
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.picture_marks import points_in, region_in
from weldworth.web.picture_filter import back_to
from weldworth.web.picture_lines import picture_of, sentence
from weldworth.web.render import page
from weldworth.workbench.desk import Desk
from weldworth.workbench.held import Held

router = APIRouter()
POINTS = "points"
WHATS = {"length": ("Length", 2), "width": ("Width", 3), "area": ("Area", 3)}
"""What can be measured -> its word, and how many points it takes."""
CLOSE = 1600
"""Long side in pixels at which an object is looked for; where it was tapped and not found so, the original is looked at."""
CROP_QUALITY = 90
_references: Held[tuple[Reference, float]] = Held(32)


@dataclass(frozen=True, slots=True)
class Measured:
    """A measure as it is shown. outline : of the object found, "across,down ..." in pixels. note : the words to keep."""

    words: str
    outline: str
    seen: str
    remarks: tuple[str, ...]
    note: str


def scale_choices(desk: Desk) -> list[tuple[str, str]]:
    """What may lie on the metal and be measured by."""
    known = [(name, thing.words) for name, thing in objects(desk.tables()).items()]
    return [*known, ("coin", "two US coins, told apart by their sizes"), (POINTS, "two points a known distance apart")]


@router.post("/c/{id}/pictures/{sha256}/measure")
def measure(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """A length, a width or an area, with its interval; or only the object found, where nothing is marked yet."""
    posted, line = Posted(request.state.form), picture_of(desk.candidate(id), sha256)
    found, refused = None, tuple[str, ...]()
    try:
        found = measured(desk, sha256, posted)
    except BadInput as error:
        refused = told(error)
    return page(request, "picture_measured.html", 422 if refused else 200, found=found, refused=refused, id=id, line=line)


def measured(desk: Desk, sha256: str, posted: Posted) -> Measured:
    """Raises BadInput saying why not and what to do."""
    what = posted.text("what") or "length"
    if what not in WHATS:
        raise BadInput([Problem("what", f"{what!r} cannot be measured; choose length, width or area")])
    word, least = WHATS[what]
    taps = points_in(posted.text("points"), "points")
    reference, scale = reference_of(desk, sha256, posted)
    outline = " ".join(f"{x * scale:.1f},{y * scale:.1f}" for x, y in reference.outline)
    kind = POINTS if reference.kind == POINTS else objects(desk.tables())[reference.kind].words
    seen = f"By {kind}" + ("" if reference.kind == POINTS else f", seen {reference.tilt_deg:.0f} degrees from straight on") + "."
    remarks = tuple(sentence(remark.text) for remark in reference.remarks)
    if len(taps) < least:
        return Measured("", outline, seen, remarks, "")
    placed = [(x / scale, y / scale) for x, y in taps]
    plane = reference.plane
    found = plane.length(placed) if what == "length" else plane.width(placed) if what == "width" else plane.area(placed)
    words = f"{word} {span_words(found, plane.level)}"
    return Measured(words, outline, seen, remarks, f"{words}, measured in the picture by {kind}.")


def span_words(found: Measure, level: float) -> str:
    """A measure with its company.

    >>> span_words(Measure(43.1, 41.3, 44.9), 0.9), span_words(Measure(1240.0, 1100.0, 1390.0, "mm2"), 0.9)
    ('43 mm (41 to 45, 9 times in 10)', '1,240 mm² (1,100 to 1,390, 9 times in 10)')
    """
    unit = found.unit.replace("2", "²")
    value, low, high = (_rounded(number) for number in (found.value, found.low, found.high))
    return f"{value} {unit} ({low} to {high}, {10 * level:.0f} times in 10)"


def _rounded(number: float) -> str:
    return f"{number:.1f}" if number < 10 else f"{number:,.0f}" if number < 1000 else f"{round(number, -1):,.0f}"


def reference_of(desk: Desk, sha256: str, posted: Posted) -> tuple[Reference, float]:
    """What gives the picture its millimetres, and by how much the picture looked at is smaller than the original."""
    kind, tables = posted.text("object"), desk.tables()
    size = posted.number("size_mm")
    apart = posted.number("apart_mm")
    posted.check()
    near = points_in(posted.text("near"), "near")
    if kind == POINTS:
        if len(near) != 2 or apart is None:
            raise BadInput([Problem("near", "two points are needed with their distance; tap both ends and type the millimetres")])
        pixels = read(desk.pictures.get(sha256), limits(tables)).pixels
        return from_points(near[0], near[1], apart, (pixels.shape[1], pixels.shape[0]), tables=tables), 1.0
    if not kind:
        raise BadInput([Problem("object", "nothing is chosen to measure by; say what lies on the metal")])
    tap = near[0] if near else None

    def work() -> tuple[Reference, float]:
        pixels = read(desk.pictures.get(sha256), limits(tables)).pixels
        small = resized(pixels, CLOSE)
        scale = pixels.shape[1] / small.shape[1]
        try:
            return _found(small, kind, tap, scale, size, desk), scale
        except BadInput:
            if tap is None or scale == 1:
                raise
            return _found(pixels, kind, tap, 1.0, size, desk), 1.0

    return _references.get((sha256, kind, tap, size, tables.version), work)


def _found(
    pixels: Pixels, kind: str, tap: tuple[float, float] | None, scale: float, size_mm: float | None, desk: Desk
) -> Reference:
    near = (tap[0] / scale, tap[1] / scale) if tap is not None else None
    return find_reference(pixels, kind, near, size_mm=size_mm, tables=desk.tables())


@router.post("/c/{id}/pictures/{sha256}/plate")
def plate(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """What a plate in the picture, or in a box of it (`region`), may say; nothing is filled in."""
    view = desk.candidate(id)
    picture_of(view, sha256)
    found, refused = None, tuple[str, ...]()
    try:
        pixels = read(desk.pictures.get(sha256), limits(desk.tables())).pixels
        size = (pixels.shape[1], pixels.shape[0])
        found = read_plate(pixels, region_in(Posted(request.state.form).text("region"), size), tables=desk.tables())
    except BadInput as error:
        refused = told(error)
    crop = "data:image/jpeg;base64," + base64.b64encode(encoded(found.crop, CROP_QUALITY)).decode() if found else ""
    words = {"found": found, "refused": refused, "crop": crop, "id": id, "sha256": sha256}
    return page(request, "picture_plate.html", 422 if refused else 200, number=view.dossier.vehicle.number or "", **words)


def told(error: BadInput) -> tuple[str, ...]:
    """Why not, one sentence each."""
    return tuple(sentence(f"{problem.where} {problem.text}".strip()) for problem in error.problems)


@router.post("/c/{id}/pictures/{sha256}/note")
def keep_note(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """Keep a measure, or any words about the picture, as a note on the picture and the zone."""
    posted, line = Posted(request.state.form), picture_of(desk.candidate(id), sha256)
    body = {"text": posted.text("text"), "zone": posted.text("zone"), "picture": line.name}
    entry = desk.record(id, "note", {key: value for key, value in body.items() if value}, person.id)
    return RedirectResponse(back_to(id, posted, [entry]), 303)


@router.post("/c/{id}/pictures/{sha256}/number")
def take_number(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """Take one of the candidates as the vehicle's number."""
    posted = Posted(request.state.form)
    picture_of(desk.candidate(id), sha256)
    entry = desk.record(id, "vehicle", {"number": posted.text("number")}, person.id)
    return RedirectResponse(back_to(id, posted, [entry]), 303)
