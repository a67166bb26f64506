"""What is no screen: the feed of changes, the calendar of closing times, drawings."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response, StreamingResponse

from weldworth.core.errors import NotFound
from weldworth.drawings.shelf import bodies, svg
from weldworth.web.calendar import calendar
from weldworth.web.feed import events
from weldworth.web.guard import Known, TheDesk, settings_of

router = APIRouter()
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


@router.get("/feed")
async def feed(request: Request, desk: TheDesk, person: Known, since: int = 0) -> Response:
    """Changes after `since`, or after the last that the browser got."""
    last = request.headers.get("last-event-id", "")
    start = int(last) if last.isdigit() else since
    seconds = settings_of(request).feed_seconds
    return StreamingResponse(events(request, desk, start, seconds), media_type="text/event-stream")


@router.get("/calendar.ics")
def closing_times(request: Request, desk: TheDesk, person: Known) -> Response:
    """Closing times and overdue answers as a calendar that other programs may subscribe to."""
    address = f"{request.url.scheme}://{request.url.netloc}"
    text = calendar(desk.deadlines(), desk.clock.now(), address)
    return Response(text, media_type="text/calendar; charset=utf-8")


@router.get("/drawings/{body}/{view}.svg")
def drawing(body: str, view: str, person: Known) -> Response:
    """A view of a body as a picture of its own."""
    if body not in bodies():
        raise NotFound(f"there are no drawings of {body!r}")
    headers = {"Content-Security-Policy": DRAWING_POLICY, "Cache-Control": "private, max-age=3600"}
    return Response(svg(body, view), media_type="image/svg+xml", headers=headers)
