"""Pictures: the grid with its filters, more taken in, and their pixels at a size."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound
from weldworth.picture.decode import decode, encoded, resized
from weldworth.picture.intake import working_copy
from weldworth.picture.kinds import HEAD, PICTURES, kind_of
from weldworth.picture.limits import limits
from weldworth.web.arrivals import arrive
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page, read_once
from weldworth.web.picture_filter import SHOWS, Filter, zone_words
from weldworth.web.picture_lines import folder_of, picture_of, shown_pictures
from weldworth.web.undoing import done
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Person

router = APIRouter()
FIELDS = ("files", "zones", "picture")
SIZES = {"small": 400, "large": 1600, "full": 6000}
JPEG_QUALITY = 88


@read_once
def pictures_page(
    request: Request, desk: Desk, id: str, person: Person, wanted: Filter, status: int = 200, **values: object
) -> Response:
    """The grid."""
    view, plan = desk.candidate(id), desk.metal(id).plan
    all_of = shown_pictures(desk, view, plan)
    counts = [(key, words, sum(Filter(key).takes(one) for one in all_of)) for key, words in SHOWS]
    shared: dict[str, object] = {
        "view": view,
        "pictures": [one for one in all_of if wanted.takes(one)],
        "counts": counts,
        "wanted": wanted,
        "ticked": frozenset(),
        "told_of": (),
        "done": done(view, plan, person.id, request.query_params.get("done", "")),
        **zone_words(view, plan, person),
    }
    return candidate_page(request, desk, id, "Pictures", "pictures.html", status, **(shared | values))  # type: ignore[arg-type]


@router.get("/c/{id}/pictures")
def shown(request: Request, id: str, desk: TheDesk, person: Known, show: str = "", zone: str = "", large: str = "") -> Response:
    """The pictures of a candidate: ?show= bare, poor or odd; ?zone= an id, or "at " and a station; ?large= one of them."""
    if large:
        return RedirectResponse(f"/c/{id}/pictures/{picture_of(desk.candidate(id), large).sha256}", 303)
    return pictures_page(request, desk, id, person, Filter(show, zone))


@router.get("/c/{id}/pictures/{sha256}/{size}.jpg")
def pixels(id: str, sha256: str, size: str, desk: TheDesk, person: Known) -> Response:
    """A picture at a size, all that the camera wrote into it left out."""
    if size not in SIZES:
        raise NotFound(f"there is no size {size!r}; there are {', '.join(SIZES)}")
    picture_of(desk.candidate(id), sha256)
    folder = folder_of(desk)
    if size == "large":
        made = working_copy(sha256, folder, tables=desk.tables())
    elif size == "small" and folder.exists(sha256, "preview"):
        made = folder.get(sha256, "preview")
    else:
        data = folder.get(sha256)
        kind = kind_of(data[:HEAD])
        if kind not in PICTURES:
            raise NotFound("this is no picture that can be shown")
        found = decode(data, kind, "picture", limits(desk.tables()), SIZES[size])
        made = encoded(resized(found.pixels, SIZES[size]), JPEG_QUALITY)
    return Response(made, media_type="image/jpeg", headers={"Cache-Control": "private, max-age=86400"})


@router.post("/c/{id}/pictures")
def take(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Take in pictures, videos and zips of them; what cannot be read is named, the rest goes on."""
    posted = Posted(request.state.form)
    try:
        arrived = arrive(desk, posted.files("files"))
        for one in arrived.pictures:
            desk.record_picture(id, one.sha256, one.name, person.id)
    except BadInput as error:
        return pictures_page(request, desk, id, person, Filter(), 422, problems=problems_for(error, FIELDS))
    if arrived.problems:
        told = tuple(str(problem) for problem in arrived.problems)
        return pictures_page(request, desk, id, person, Filter(), told_of=told)
    return RedirectResponse(f"/c/{id}/pictures", 303)
