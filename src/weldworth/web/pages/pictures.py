"""Pictures: the grid, one picture large, what it shows put on zones, two side by side, more taken in."""

from __future__ import annotations

from contextlib import suppress

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound
from weldworth.picture.decode import decode, encoded, resized
from weldworth.picture.folder import PictureFolder
from weldworth.picture.kinds import HEAD, PICTURES, kind_of
from weldworth.picture.limits import limits
from weldworth.picture.quality import check
from weldworth.web.arrivals import arrive
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page
from weldworth.workbench.desk import Desk
from weldworth.workbench.lines import CandidateView, PictureLine

router = APIRouter()
FIELDS = ("files", "zones", "name")
SIZES = {"small": 400, "large": 1600}
JPEG_QUALITY = 85


def picture_of(view: CandidateView, sha256: str) -> PictureLine:
    """The picture with this hash; raises NotFound."""
    found = next((one for one in view.pictures if one.sha256 == sha256), None)
    if found is None:
        raise NotFound("there is no such picture in this candidate")
    return found


def pictures_page(request: Request, desk: Desk, id: str, status: int = 200, **values: object) -> Response:
    """The grid."""
    view, metal = desk.candidate(id), desk.metal(id)
    labels = {zone.id: zone.label for zone in metal.plan.zones}
    unused = {"told_of": (), "large": None, "beside": None, "verdict": None, "before": "", "after": ""}
    shows = {one.sha256: ", ".join(labels.get(zone, zone) for zone in one.zones) for one in view.pictures}
    shared: dict[str, object] = {"view": view, "labels": labels, "shows": shows, **unused}
    return candidate_page(request, desk, id, "Pictures", "pictures.html", status, **(shared | values))  # type: ignore[arg-type]


@router.get("/c/{id}/pictures")
def shown(request: Request, id: str, desk: TheDesk, person: Known, large: str = "", beside: str = "") -> Response:
    """The pictures of a candidate; ?large= shows one in full, ?beside= another next to it."""
    if not large:
        return pictures_page(request, desk, id)
    view = desk.candidate(id)
    one = picture_of(view, large)
    other = picture_of(view, beside) if beside else None
    at = view.pictures.index(one)
    verdict = None
    with suppress(BadInput):
        verdict = check(desk.pictures.get(one.sha256), tables=desk.tables())
    before = view.pictures[at - 1].sha256 if at else ""
    after = view.pictures[at + 1].sha256 if at + 1 < len(view.pictures) else ""
    return pictures_page(request, desk, id, large=one, beside=other, verdict=verdict, before=before, after=after)


@router.get("/c/{id}/pictures/{sha256}/{size}.jpg")
def pixels(id: str, sha256: str, size: str, desk: TheDesk, person: Known) -> Response:
    """A picture at a size, all that the camera wrote into it left out."""
    if size not in SIZES:
        raise NotFound(f"there is no size {size!r}; there are {', '.join(SIZES)}")
    picture_of(desk.candidate(id), sha256)
    folder = desk.pictures
    if size == "small" and isinstance(folder, PictureFolder) and folder.exists(sha256, "preview"):
        made = folder.get(sha256, "preview")
    else:
        data = folder.get(sha256)
        kind = kind_of(data[:HEAD])
        if kind not in PICTURES:
            raise NotFound("this is no picture that can be shown")
        bounds = limits(desk.tables())
        made = encoded(resized(decode(data, kind, "picture", bounds, SIZES[size]).pixels, SIZES[size]), JPEG_QUALITY)
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
        return pictures_page(request, desk, id, 422, problems=problems_for(error, FIELDS))
    if arrived.problems:
        return pictures_page(request, desk, id, told_of=tuple(str(problem) for problem in arrived.problems))
    return RedirectResponse(f"/c/{id}/pictures", 303)


@router.post("/c/{id}/pictures/zones")
def put_on_zones(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Say which zones the ticked pictures show."""
    posted = Posted(request.state.form)
    view = desk.candidate(id)
    zones = [zone for zone in posted.texts("zones") if zone]
    try:
        for sha256 in posted.texts("picture"):
            one = picture_of(view, sha256)
            body = {**dict(one.facts), "sha256": one.sha256, "name": one.name, "zones": zones}
            desk.correct(id, one.seq, {key: value for key, value in body.items() if key != "replaces"}, person.id)
    except BadInput as error:
        return pictures_page(request, desk, id, 422, problems=problems_for(error, FIELDS))
    back = posted.text("large")
    return RedirectResponse(f"/c/{id}/pictures" + (f"?large={back}" if back else ""), 303)
