"""Plain pages of the main figures, for the tabs of a candidate that have no screen of their own."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from weldworth.core.errors import NotFound
from weldworth.report.compose import sheet
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import TABS, candidate_page, weighed

router = APIRouter()


@router.get("/c/{id}/{tab}")
def plain(request: Request, id: str, tab: str, desk: TheDesk, person: Known) -> Response:
    """The figures of one tab as plain tables."""
    names = {name.lower(): name for name in TABS}
    if tab not in names:
        raise NotFound(f"a candidate has no page {tab!r}; it has {', '.join(names)}")
    view = desk.candidate(id)
    weighing, _ = weighed(desk, id)
    report = sheet(weighing, desk.tables()) if weighing is not None else None
    return candidate_page(request, desk, id, names[tab], "plain.html", view=view, weighing=weighing, report=report)
