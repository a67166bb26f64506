"""From a template and values to a page; what every page shows is added here."""

from __future__ import annotations

from datetime import datetime
from typing import cast

from fastapi import Request
from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse

from weldworth.core.errors import Problem
from weldworth.report.numbers import decides, hundred, in_100, money, of_area, plainly, span
from weldworth.web import static_files
from weldworth.web.forms import Problems
from weldworth.web.guard import desk_of, form_token, remember_browser
from weldworth.web.inlined import Inlined
from weldworth.web.times import day_and_time, short_day
from weldworth.workbench.ports import Person

THEME = "weldworth_theme"
THEMES = ("device", "light", "dark")
CONFLICT = 409
TAB = 3
"""Which part of an address such as /c/ID/metal names the tab."""
PLACES = (("Bench", "/"), ("Take in", "/new"), ("Shop", "/shop"), ("People", "/people"))

environment = Environment(
    loader=PackageLoader("weldworth.web"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
)
environment.globals["static"] = static_files.url
environment.filters.update(
    money=money,
    span=span,
    in_100=in_100,
    hundred=hundred,
    of_area=of_area,
    decides=decides,
    plainly=plainly,
    day_and_time=day_and_time,
    short_day=short_day,
    labelled=lambda words: [(word, word.replace("-", " ")) for word in words],
)


def page(request: Request, template: str, status: int = 200, **values: object) -> HTMLResponse:
    """The page that `template` makes of `values`.

    Every template also gets: person (None before the login), place (name in PLACES, or ""), places, theme, form_token, now,
    problems and tables_version.
    """
    desk = desk_of(request)
    person = cast(Person | None, getattr(request.state, "person", None))
    given = request.cookies.get(THEME, "device")
    shared: dict[str, object] = {
        "person": person,
        "place": "",
        "places": [one for one in PLACES if one[0] != "Take in" or person is None or person.role != "read-only"],
        "theme": given if given in THEMES else "device",
        "form_token": form_token(request) if hasattr(request.state, "browser") else "",
        "now": local_now(request),
        "problems": Problems(()),
        "tables_version": desk.tables().version,
    }
    text = environment.get_template(template).render(shared | values)
    response = HTMLResponse(text, status)
    remember_browser(request, response)
    return response


def phone_page(template: str, inside: Inlined, status: int = 200, **values: object) -> HTMLResponse:
    """A page for whoever has its address: no login, no cookie, nothing of the desk round it."""
    text = environment.get_template(template).render(values, inlined=inside)
    return HTMLResponse(text, status, {"Content-Security-Policy": inside.policy})


def refusal(request: Request, status: int, title: str, problems: tuple[Problem, ...]) -> HTMLResponse:
    """The page that says what went wrong; of a conflict about a candidate with the way back to what it was made from."""
    way = request.url.path.split("/")
    back = "/".join(way[:4]) if status == CONFLICT and way[1] == "c" and len(way) > TAB else ""
    return page(request, "refused.html", status, title=title, problems=problems, back=back)


def local_now(request: Request) -> datetime:
    """The moment as this machine's clock shows it, with its zone."""
    return desk_of(request).clock.now().astimezone()
