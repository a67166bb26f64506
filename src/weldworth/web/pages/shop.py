"""Shop: the terms with basis and source of every number, their versions, the tables, and everything as a download."""

from __future__ import annotations

import shutil
import tempfile
from datetime import datetime
from pathlib import Path

from fastapi import APIRouter, Request
from starlette.background import BackgroundTask
from starlette.responses import FileResponse, RedirectResponse, Response

from weldworth.core.errors import BadInput, Conflict, NotAllowed
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.shop_terms import SECTIONS, TERMS, changes, read_terms, shipped, typed
from weldworth.web.pages.tables import listed
from weldworth.web.render import local_now, page
from weldworth.workbench.ports import Person

router = APIRouter()


def _show(request: Request, desk: TheDesk, person: Person, values: dict[str, str], status: int = 200, **more: object) -> Response:
    versions = desk.shop.terms_versions()
    names = {one.id: one.name for one in desk.people.all()}
    told = []
    for before, version in zip([None, *versions], versions, strict=False):
        at = datetime.fromisoformat(version.at)
        told.append((version, at, names.get(version.by, "somebody"), changes(before.terms if before else {}, version.terms)))
    return page(
        request,
        "shop.html",
        status,
        **{
            "title": "Shop",
            "place": "Shop",
            "sections": SECTIONS,
            "shipped": shipped(desk.tables()),
            "values": values,
            "versions": told[::-1],
            "version": versions[-1].number if versions else 0,
            "tables": listed(desk),
            "own_tables": desk.shop.own_tables(),
            "may": person.role == "owner",
            "note": "",
            "drawn_from": f"version {versions[-1].number} of the shop’s terms" if versions else "the tables alone",
            "feed": None,
        }
        | more,
    )


def _values(desk: TheDesk) -> dict[str, str]:
    terms = desk.shop.terms().terms
    return {term.key: typed(terms.get(term.key), term.kind) for term in TERMS}


@router.get("/shop")
def shop(request: Request, desk: TheDesk, person: Known) -> Response:
    """The terms as they hold now."""
    return _show(request, desk, person, _values(desk))


@router.post("/shop")
def change(request: Request, desk: TheDesk, person: Known) -> Response:
    """A new version of the terms."""
    if person.role != "owner":
        raise NotAllowed("Only an owner changes the terms.")
    form = Posted(request.state.form)
    typed_in = form.values(term.key for term in TERMS)
    version = form.text("version")
    try:
        desk.shop.change_terms(
            read_terms(form), person.id, note=form.text("note"), version=int(version) if version.isdigit() else None
        )
    except BadInput as error:
        problems = problems_for(error, (term.key for term in TERMS))
        return _show(request, desk, person, typed_in, 422, problems=problems, note=form.text("note"))
    except Conflict as error:
        problems = problems_for(BadInput(str(error)), ())
        return _show(request, desk, person, typed_in, 409, problems=problems, note=form.text("note"))
    return RedirectResponse("/shop?kept=yes", 303)


@router.get("/shop/everything.zip")
def everything(request: Request, desk: TheDesk, person: Known) -> Response:
    """Every candidate as a dossier folder, terms and tables with all versions, and the people without passwords."""
    if person.role != "owner":
        raise NotAllowed("Only an owner takes everything out.")
    place = tempfile.TemporaryDirectory()
    day = f"{local_now(request):%Y-%m-%d}"
    folder = desk.export_all(Path(place.name) / f"weldworth-{day}")
    path = Path(shutil.make_archive(str(folder), "zip", place.name, folder.name))
    return FileResponse(path, filename=path.name, media_type="application/zip", background=BackgroundTask(place.cleanup))
