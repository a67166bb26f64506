"""Voice memos, as they were recorded."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import FileResponse, Response

from weldworth.core.errors import NotFound
from weldworth.picture.sound import FORMATS, form_of
from weldworth.web.guard import Known, TheDesk

router = APIRouter()


@router.get("/c/{id}/memos/{sha256}")
def memo(id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """The sound of a memo of this candidate, byte for byte; browsers may ask for a part of it."""
    view = desk.candidate(id)
    if not any(entry.kind == "memo" and entry.body.get("sha256") == sha256 for entry in view.entries):
        raise NotFound("there is no such memo of this candidate")
    path = desk.pictures.path(sha256)
    if not path.is_file():
        raise NotFound("the original of this memo is not in the picture folder")
    with path.open("rb") as file:
        media = FORMATS.get(form_of(file.read(16)), "application/octet-stream")
    return FileResponse(path, media_type=media, headers={"Cache-Control": "private, max-age=86400"})
