"""The interface for programs as a page: every address with what it takes, from the same description that programs read."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from weldworth.web.api.document import addresses
from weldworth.web.guard import Known
from weldworth.web.render import page

router = APIRouter()


@router.get("/interface")
def interface(request: Request, person: Known) -> Response:
    """Every address."""
    described = request.app.openapi()
    return page(
        request,
        "interface.html",
        title="Interface for programs",
        place="People",
        about=described["info"]["description"],
        groups=addresses(described),
        drawn_from="the description that programs read",
    )
