"""A walk for a helper who has no account: the page of the walk behind a link, and what the phone sends from it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import NotFound
from weldworth.web.guard import TheDesk
from weldworth.web.inlined import inlined
from weldworth.web.pages.seller import GONE, gone_page
from weldworth.web.pages.walk import STYLES, on_the_phone, running_of, with_microphone
from weldworth.web.render import phone_page
from weldworth.web.uploads import Inbox, add_upload_routes
from weldworth.web.walk_box import WalkBox
from weldworth.web.walk_data import walk_data
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.links import SEES, owner_of, walk_of
from weldworth.workbench.ports import Link
from weldworth.workbench.walking import Walk, end_walk, walk_in

router = APIRouter()


def walked(secret: str, desk: TheDesk) -> tuple[Link, CandidateView, Walk] | None:
    """Link, candidate and walk of the address while they are open."""
    link = desk.links.known(secret, walks=True)
    if link is None:
        return None
    view = desk.candidate(link.candidate)
    try:
        return link, view, walk_in(view, walk_of(link) or "")
    except NotFound:
        return None


Walked = Annotated[tuple[Link, CandidateView, Walk] | None, Depends(walked)]


def there(found: Walked) -> tuple[Link, CandidateView, Walk]:
    """The same; raises NotFound, in the same words whether the address is wrong, run out or ended."""
    if found is None:
        raise NotFound(GONE)
    return found


There = Annotated[tuple[Link, CandidateView, Walk], Depends(there)]


def box_of(found: There, desk: TheDesk) -> Inbox:
    """Where the things of this walk go."""
    link, view, walk = found
    return WalkBox(desk, view.id, walk, owner_of(link)).inbox()


add_upload_routes(router, "/w/{secret}/up", box_of)


@router.get("/w/{secret}")
def on_it(request: Request, secret: str, found: Walked, desk: TheDesk) -> Response:
    """The walk. Of belief and money the page itself shows nothing; `running` tells them where the link says so."""
    if found is None:
        return gone_page(request)
    link, view, walk = found
    desk.links.opened(link)
    data = walk_data(desk, view, walk, base=f"/w/{secret}", sees=SEES in link.asks)
    data |= {"name": link.vehicle or "the vehicle", "back": "", "helper": True}
    return with_microphone(phone_page("walk_on.html", on_the_phone(), data=data, theme="device", form_token=""))


@router.get("/w/{secret}/running")
def running_now(found: There, desk: TheDesk, zone: str = "") -> Response:
    """Belief and ceiling after a finding. Raises NotFound where the link does not let them be seen."""
    link, view, _ = found
    if SEES not in link.asks:
        raise NotFound(GONE)
    return running_of(desk, view.id, zone)


@router.post("/w/{secret}/end")
def end(secret: str, found: There, desk: TheDesk) -> Response:
    """The helper says that this was all."""
    link, view, walk = found
    end_walk(desk, view.id, walk.id, owner_of(link))
    return RedirectResponse(f"/w/{secret}/done", 303)


@router.get("/w/{secret}/done")
def done(found: There) -> Response:
    """Thanks, and that the page may be closed."""
    return phone_page("walk_done.html", inlined(STYLES))
