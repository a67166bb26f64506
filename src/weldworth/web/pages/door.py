"""The door: logging in and out, coming in by invitation or set-up code, and one's own page."""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.web.errors import TooOften
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import SESSION, YEAR, Known, TheDesk, settings_of
from weldworth.web.limits import Tries
from weldworth.web.passwords import fits, hashed
from weldworth.web.render import THEME, THEMES, page

router = APIRouter()
MONTH = 30 * 24 * 3600
WELCOME = ("code", "name", "password", "password_again")


def _tries(request: Request) -> Tries:
    tries: Tries = request.app.state.tries
    return tries


def _address(request: Request) -> str:
    return request.client.host if request.client else "nowhere"


def within(target: str) -> str:
    """An address of this desk, whatever was given.

    >>> within("/c/1/money?x=1"), within("https://elsewhere.example/"), within("//elsewhere.example")
    ('/c/1/money?x=1', '/', '/')
    """
    parts = urlsplit(target)
    fits_here = target.startswith("/") and not parts.scheme and not parts.netloc and "\\" not in target
    return target if fits_here else "/"


@router.get("/login")
def login_page(request: Request, next: str = "/") -> Response:
    """Name and password."""
    return page(request, "login.html", title="Log in", next=within(next), values={"name": ""})


@router.post("/login")
def login(request: Request, desk: TheDesk) -> Response:
    """Begin a session. After a few wrong tries of one name, or many from one address, a wait."""
    form = Posted(request.state.form)
    name, now, address = form.text("name"), desk.clock.now(), _address(request)
    tries = _tries(request)
    person = desk.people.named(name)
    try:
        for who in (f"name {name.casefold()}", f"address {address}"):
            tries.check(who, now)
        password = request.state.form.get("password")
        if not fits(password if isinstance(password, str) else "", person.password if person else None) or person is None:
            tries.note(f"name {name.casefold()}", now)
            tries.note(f"address {address}", now)
            raise BadInput([Problem("password", "Name and password do not go together. Try again.")])
    except (BadInput, TooOften) as error:
        refused = error if isinstance(error, BadInput) else BadInput([Problem("password", str(error))])
        status = 429 if isinstance(error, TooOften) else 422
        return page(
            request,
            "login.html",
            status,
            title="Log in",
            next=within(form.text("next")),
            values={"name": name},
            problems=problems_for(refused, ("name", "password")),
        )
    tries.forget(f"name {name.casefold()}")
    return _come_in(request, desk, person.id, within(form.text("next")))


def _come_in(request: Request, desk: TheDesk, person: str, target: str) -> Response:
    label = request.headers.get("user-agent", "")[:120]
    secret = desk.people.begin_session(person, label)
    response = RedirectResponse(target, 303)
    secure = settings_of(request).secure
    response.set_cookie(SESSION, secret, max_age=MONTH, httponly=True, samesite="lax", secure=secure)
    return response


@router.get("/welcome")
def welcome_page(request: Request, code: str = "") -> Response:
    """For whoever has an invitation, or the code that the terminal showed."""
    return page(request, "welcome.html", title="Come in", values={"code": code, "name": ""})


@router.post("/welcome")
def welcome(request: Request, desk: TheDesk) -> Response:
    """Use an invitation or the set-up code: a name and a password, then a session."""
    form = Posted(request.state.form)
    code, name = form.text("code"), form.text("name")
    who = f"welcome {_address(request)}"
    now = desk.clock.now()
    try:
        _tries(request).check(who, now)
        if desk.people.invitation(code) is None:
            _tries(request).note(who, now)
            raise BadInput([Problem("code", "This code is used up, ended or not known. Ask for a new one.")])
        password, again = (str(request.state.form.get(key, "")) for key in ("password", "password_again"))
        person = desk.people.accept(code, name, hashed(password, again))
    except (BadInput, NotFound, TooOften) as error:
        refused = error if isinstance(error, BadInput) else BadInput([Problem("code", str(error))])
        return page(
            request,
            "welcome.html",
            429 if isinstance(error, TooOften) else 422,
            title="Come in",
            values={"code": code, "name": name},
            problems=problems_for(refused, WELCOME),
        )
    return _come_in(request, desk, person.id, "/")


@router.post("/logout")
def logout(request: Request, desk: TheDesk) -> Response:
    """End this session."""
    desk.people.end_session(request.cookies.get(SESSION, ""))
    response = RedirectResponse("/login", 303)
    response.delete_cookie(SESSION)
    return response


@router.post("/me/theme")
def theme(request: Request) -> Response:
    """Light, dark, or as the device has it; kept in this browser."""
    form = Posted(request.state.form)
    chosen = form.text("theme") if form.text("theme") in THEMES else "device"
    response = RedirectResponse("/me", 303)
    response.set_cookie(THEME, chosen, max_age=YEAR, httponly=True, samesite="lax", secure=settings_of(request).secure)
    return response


@router.get("/me")
def me(request: Request, desk: TheDesk, person: Known) -> Response:
    """One's own name, password and light."""
    return _me(request, desk, {"name": person.name})


def _me(request: Request, desk: TheDesk, values: dict[str, str], status: int = 200, **more: object) -> Response:
    settings = settings_of(request)
    return page(request, "me.html", status, title="You", values=values, open_door=settings.open_door, **more)


@router.post("/me/name")
def rename(request: Request, desk: TheDesk, person: Known) -> Response:
    """Give oneself another name."""
    name = Posted(request.state.form).text("name")
    try:
        desk.people.rename(person.id, name)
    except BadInput as error:
        return _me(request, desk, {"name": name}, 422, problems=problems_for(error, ("name",)))
    return RedirectResponse("/me", 303)


@router.post("/me/password")
def new_password(request: Request, desk: TheDesk, person: Known) -> Response:
    """Another password, after the old one; every other session ends."""
    form = request.state.form
    old, new, again = (str(form.get(key, "")) for key in ("old", "password", "password_again"))
    try:
        if not fits(old, person.password):
            raise BadInput([Problem("old", "This is not your password.")])
        desk.people.set_password(person.id, hashed(new, again))
    except BadInput as error:
        problems = problems_for(error, ("old", "password", "password_again"))
        return _me(request, desk, {"name": person.name}, 422, problems=problems)
    for given in desk.people.passes("session", person.id):
        desk.people.end(given.hash)
    return _come_in(request, desk, person.id, "/me")


def to_login(request: Request) -> Response:
    """Where a stranger is sent: to the login, or to the welcome while nobody has a password yet."""
    desk = request.app.state.desk
    if not any(person.password and person.active for person in desk.people.all()):
        return RedirectResponse("/welcome", 303)
    target = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return RedirectResponse(f"/login?next={quote(target, safe='')}" if request.method == "GET" else "/login", 303)
