"""The page that a seller gets: no account, one ask at a time, and what the phone sends from it."""

from __future__ import annotations

from secrets import token_urlsafe
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound
from weldworth.vehicle.plans import load_plan
from weldworth.web import tongues
from weldworth.web.errors import Refusal, status_of
from weldworth.web.guard import TheDesk
from weldworth.web.inlined import inlined
from weldworth.web.plain_form import came_of, sent_of, why_not
from weldworth.web.render import phone_page
from weldworth.web.sayings import REASONS, SAYINGS
from weldworth.web.sent import Letterbox
from weldworth.web.steps import FAULTS, sayer, steps_of, too_dark
from weldworth.web.uploads import Inbox, add_upload_routes, uploads_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Link

router = APIRouter()
STYLES = ("seller.css",)
GONE = "This page is not open, or not any more. Ask whoever sent it to you for a new one."


def link_of(secret: str, desk: TheDesk) -> Link | None:
    """The link of the address while it is open."""
    return desk.links.known(secret)


TheLink = Annotated[Link | None, Depends(link_of)]


def inbox_of(request: Request, link: TheLink, desk: TheDesk) -> Inbox:
    """Where the things of this link go. Raises NotFound, in the same words whether it is wrong, run out or ended."""
    if link is None:
        raise NotFound(GONE)
    return Letterbox(desk, link, uploads_of(request).parts).inbox()


add_upload_routes(router, "/s/{secret}/up", inbox_of)


@router.get("/s/{secret}")
def shown(request: Request, link: TheLink, desk: TheDesk, lang: str = "", at: str = "", said: str = "") -> Response:
    """The page, in the browser's language or in ?lang=. One plain page for every link that is not open.

    For browsers without scripts: at : the number of the ask to show, or "end". said : what is said above it, one of SAYINGS.
    """
    if link is None:
        return gone_page(request, lang)
    desk.links.opened(link)
    return seller_page(request, desk, link, lang, at, said)


@router.post("/s/{secret}/upload")
async def posted(request: Request, secret: str, link: TheLink, desk: TheDesk, lang: str = "", at: str = "") -> Response:
    """One thing from a browser without scripts: a picture, an answer, a number, or that it cannot be given."""
    if link is None:
        return await run_in_threadpool(gone_page, request, lang)
    uploads = uploads_of(request)
    try:
        sent = sent_of(await request.form(max_files=1, max_fields=20))
        answer = await uploads.put(Letterbox(desk, link, uploads.parts).inbox(), sent.id, sent.said, sent.file)
        said = came_of(answer)
    except (BadInput, Refusal) as error:
        said = why_not(error)
        return await run_in_threadpool(seller_page, request, desk, link, lang, at, said, status_of(error))
    if sent.said.kind == "finish" and said == "came":
        at, said = "end", "finished"
    where = {"lang": lang, "at": "" if said in ("good", "came") else at, "said": said}
    query = urlencode({name: value for name, value in where.items() if value})
    return RedirectResponse(f"/s/{secret}?{query}", 303)


def seller_page(
    request: Request, desk: Desk, link: Link, lang: str = "", at: str = "", said: str = "", status: int = 200
) -> HTMLResponse:
    """The page of an open link; see `shown`."""
    language = tongues.chosen(lang or None, request.headers.get("accept-language"))
    catalogue = tongues.words(language)
    vehicle = desk.candidate(link.candidate).dossier.vehicle
    tables = desk.tables()
    plan = load_plan(vehicle.body, tables, battery_side=vehicle.battery_side, options=vehicle.options)
    say = sayer(catalogue.gettext, tongues.SOURCE, language)
    steps = steps_of(link.asks, plan, desk.links.receipts(link), tables, say)
    words = {key: catalogue.gettext(text) for key, text in SAYINGS.items()}
    words |= {f"{name}:{n}": catalogue.gettext(text) for name, texts in FAULTS.items() for n, text in enumerate(texts)}
    still_open = next((n for n, step in enumerate(steps, 1) if step.state in ("open", "again")), len(steps) + 1)
    wanted = len(steps) + 1 if at == "end" else int(at) if at.isdecimal() else still_open
    values: dict[str, object] = {
        "_": catalogue.gettext,
        "language": language,
        "direction": tongues.direction(language),
        "languages": tongues.languages(),
        "address": f"/s/{request.path_params['secret']}",
        "link": link,
        "buyer": desk.people.names().get(link.by, ""),
        "steps": steps,
        "now": min(max(wanted, 1), len(steps) + 1),
        "said": words.get(said, ""),
        "lang": f"&lang={language}" if lang == language else "",
        "new_id": lambda: token_urlsafe(16),
        "words": words,
        "reasons": REASONS,
        "dark": too_dark(tables),
        "piece": int(desk.links.limits().piece_bytes),
        "longest": int(desk.links.limits().words),
    }
    response = phone_page("seller.html", inlined(STYLES, "seller.js"), status, **values)
    response.headers["Vary"] = "Accept-Language"
    return response


def gone_page(request: Request, lang: str = "") -> Response:
    """The plain page for an address that is wrong, run out or ended: the same for all three."""
    language = tongues.chosen(lang or None, request.headers.get("accept-language"))
    say = tongues.words(language).gettext
    values = {"_": say, "language": language, "direction": tongues.direction(language), "gone": say(GONE)}
    return phone_page("seller_gone.html", inlined(STYLES), 404, **values)


@router.get("/s/{secret}/now")
def asked(link: TheLink) -> Response:
    """The keys of the asks at this moment, for a page that is open."""
    if link is None:
        raise NotFound(GONE)
    return JSONResponse({"asks": list(link.asks)})
