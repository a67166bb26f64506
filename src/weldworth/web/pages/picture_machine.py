"""What the machine sees on one picture: rust laid over it, its share and grades, suggested signs, and what became of them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.picture.decode import decode
from weldworth.picture.grades import grades
from weldworth.picture.intake import working_copy
from weldworth.picture.limits import limits
from weldworth.picture.rust import RUSTED, model_version, rust_mask
from weldworth.web.forms import Posted
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.picture_marks import box_of, region_in
from weldworth.web.pages.picture_measure import told
from weldworth.web.picture_filter import back_to
from weldworth.web.picture_lines import folder_of, picture_of
from weldworth.web.render import page
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Entry
from weldworth.workbench.lines import PictureLine

router = APIRouter()
LONG_SIDE = 800
LEVELS = tuple(range(10, 100, 5))
USUAL = round(100 * RUSTED)


@dataclass(frozen=True, slots=True)
class AtLevel:
    """How much of the picture counts as rust from a level on. level : chance of rust in hundredths. area : per cent."""

    level: int
    area: float
    grade: str


@router.get("/c/{id}/pictures/{sha256}/rust.png")
def rust_png(id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """The chance of rust at each pixel as a grey picture, white for certain; kept beside the original once it is made."""
    picture_of(desk.candidate(id), sha256)
    headers = {"Cache-Control": "private, max-age=86400"}
    return Response(_kept_map(desk, sha256), media_type="image/png", headers=headers)


def _kept_map(desk: Desk, sha256: str) -> bytes:
    folder, kind = folder_of(desk), model_version()
    if not folder.exists(sha256, kind):
        pixels = decode(working_copy(sha256, folder, tables=desk.tables()), "JPEG", "picture", limits(desk.tables())).pixels
        share = min(1.0, LONG_SIDE / max(pixels.shape[:2]))
        size = (max(1, round(pixels.shape[1] * share)), max(1, round(pixels.shape[0] * share)))
        small = cv2.resize(rust_mask(pixels), size, interpolation=cv2.INTER_AREA)
        done, data = cv2.imencode(".png", np.rint(255 * small).astype(np.uint8))
        if not done:
            raise BadInput("the rust in this picture cannot be drawn; take it in again")
        folder.put_made(sha256, kind, data.tobytes())
    return folder.get(sha256, kind)


def levels_of(desk: Desk, sha256: str) -> list[AtLevel]:
    """The rusted share of the whole picture at each level, with its grades."""
    grey = cv2.imdecode(np.frombuffer(_kept_map(desk, sha256), np.uint8), cv2.IMREAD_GRAYSCALE)
    return [_at(level, np.asarray(grey), desk) for level in LEVELS]


def _at(level: int, grey: npt.NDArray[np.uint8], desk: Desk) -> AtLevel:
    area = 100 * float((grey > 2.55 * level).mean())
    found = grades(area, desk.tables())
    return AtLevel(level, area, grade_words(found.ri, found.d610))


def grade_words(ri: float, d610: int) -> str:
    """Both scales.

    >>> grade_words(3.5, 5)
    'Ri 3.5 (ISO 4628-3), 5 (ASTM D610)'
    """
    return f"Ri {ri:g} (ISO 4628-3), {d610} (ASTM D610)"


@router.get("/c/{id}/pictures/{sha256}/machine")
def machine(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """What the machine sees, to be put into the page of the picture."""
    return page(request, "picture_machine.html", 200, **machine_words(desk, id, sha256))


def machine_words(desk: Desk, id: str, sha256: str) -> dict[str, object]:
    """What the part of the page is made of."""
    found, refused = None, tuple[str, ...]()
    try:
        found = desk.machine_findings(id, sha256)
    except BadInput as error:
        refused = told(error)
    can = found is not None and not found.problem
    return {
        "machine": found,
        "machine_refused": refused,
        "levels": levels_of(desk, sha256) if can else [],
        "usual": USUAL,
        "grade_words": grade_words,
        "view": desk.candidate(id),
        "line": picture_of(desk.candidate(id), sha256),
    }


@router.get("/c/{id}/pictures/{sha256}/rust")
def rust_in_box(request: Request, id: str, sha256: str, desk: TheDesk, person: Known, region: str = "") -> Response:
    """How much of a box is rusted, and its grades."""
    picture_of(desk.candidate(id), sha256)
    sight, refused = None, tuple[str, ...]()
    try:
        if desk.eye is None:
            raise BadInput("this desk looks at no pictures; start it with a home folder")
        path, tables = desk.pictures.path(sha256), desk.tables()
        seen = desk.eye.see(path, (), tables)
        box = region_in(region, (seen.width, seen.height))
        sight = desk.eye.see(path, (box,) if box else (), tables).at(box)
        if sight is None:
            raise BadInput(seen.problem or "nothing can be seen in this box; draw it again")
    except BadInput as error:
        refused = told(error)
    return page(request, "picture_rust.html", 422 if refused else 200, sight=sight, refused=refused, grade_words=grade_words)


@router.post("/c/{id}/pictures/{sha256}/suggestion")
def decide(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """Accept a suggested sign, put it aside (`dismiss`) or bring it back (`restore`)."""
    posted = Posted(request.state.form)
    ways = {"accept": desk.accept, "dismiss": desk.dismiss, "restore": desk.restore}
    way = ways.get(posted.text("way"))
    if way is None:
        raise NotFound(f"a suggestion is not decided by {posted.text('way')!r}")
    entry = way(id, sha256, posted.text("at"), posted.text("sign"), person.id)
    return RedirectResponse(back_to(id, posted, [entry]), 303)


@router.post("/c/{id}/pictures/{sha256}/place")
def place(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """Say where on the picture a zone is (the four sides of a box), or, without them, that it is not marked."""
    posted, line = Posted(request.state.form), picture_of(desk.candidate(id), sha256)
    at = posted.text("at")
    regions = {zone: box for zone, box in _regions(line).items() if zone != at}
    box = box_of(posted, _size(desk, sha256))
    posted.check()
    if box is not None:
        regions[at] = list(box)
    zones = [*line.zones, *([at] if at not in line.zones else [])]
    entry = desk.describe_picture(id, sha256, {"zones": zones, "regions": regions or None}, person.id)
    return RedirectResponse(back_to(id, posted, [entry]), 303)


def _regions(line: PictureLine) -> dict[str, object]:
    given = line.facts.get("regions")
    return dict(given) if isinstance(given, dict) else {}


def _size(desk: Desk, sha256: str) -> tuple[int, int]:
    if desk.eye is None:
        raise BadInput("this desk looks at no pictures; start it with a home folder")
    seen = desk.eye.see(desk.pictures.path(sha256), (), desk.tables())
    if seen.problem:
        raise BadInput([Problem("picture", seen.problem)])
    return seen.width, seen.height


@router.post("/c/{id}/pictures/{sha256}/came")
def say_how_it_came(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """Say how the picture came and when it was taken; what is empty is nobody's word again."""
    posted = Posted(request.state.form)
    said: dict[str, object] = {"source": posted.text("source") or None, "taken_on": posted.text("taken_on") or None}
    entry: Entry = desk.describe_picture(id, sha256, said, person.id)
    return RedirectResponse(back_to(id, posted, [entry]), 303)
