"""Headers, forged forms, sizes and errors: what holds for every address."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from starlette.exceptions import HTTPException
from visiting import Visit, Visitor

from weldworth.core.errors import BadInput, Conflict, NotFound, WeldworthError
from weldworth.web.errors import FAULT, STATUS, Refusal, TooOften, as_json, problems_of, status_of
from weldworth.web.settings import Settings
from weldworth.web.shield import HEADERS
from weldworth.workbench.desk import Desk

ID = "0" * 32
BEHIND_A_LINK = ("/s/", "/w/")
"""Pages for people without an account: their address is the secret, no cookie is, so no other site can lend one."""


def routes(app: FastAPI, method: str) -> Iterator[str]:
    """Addresses of pages that take this method, with their parts filled in."""
    for route in all_routes(app):
        if method in route.methods and not route.path.startswith(("/api/", "/static/")):
            yield re.sub(r"\{[^}]+\}", ID, route.path)


def all_routes(app: FastAPI) -> list[APIRoute]:
    found: list[APIRoute] = []
    waiting = list(app.routes)
    while waiting:
        one = waiting.pop(0)
        if isinstance(one, APIRoute):
            found.append(one)
        waiting += getattr(getattr(one, "original_router", None), "routes", [])
    return found


def errors_known() -> list[type[Exception]]:
    """Every kind of error that is defined."""
    found: list[type[Exception]] = []
    waiting: list[type[Exception]] = [WeldworthError, Refusal]
    while waiting:
        kind = waiting.pop()
        found.append(kind)
        waiting += kind.__subclasses__()
    return [kind for kind in found if kind.__module__.startswith("weldworth.")]


def made(kind: type[Exception]) -> Exception:
    if kind is TooOften:
        return TooOften("told", 5)
    try:
        return kind("told")
    except TypeError:
        return kind("told", [])


@pytest.mark.parametrize("kind", errors_known(), ids=lambda kind: kind.__name__)
def test_every_error_of_the_program_has_a_status_of_its_own_or_of_its_kind(kind: type[Exception]) -> None:
    error = made(kind)
    assert status_of(error) == next(STATUS[one] for one in kind.__mro__ if one in STATUS)[0]
    if kind is not WeldworthError:
        assert status_of(error) in (*range(400, 500), 507), "only a fault of the program is a 500"
    assert as_json(error)["error"]["problems"] == [{"where": "", "text": "told"}]


def test_statuses_mean_what_the_standard_says() -> None:
    """RFC 9110 section 15.5 (401, 403, 404, 409, 413, 421, 422), RFC 6585 section 4 (429), RFC 4918 section 11.5 (507)."""
    assert {status for status, _ in STATUS.values()} == {401, 403, 404, 409, 413, 421, 422, 429, 500, 507}
    assert (status_of(BadInput("x")), status_of(NotFound("x")), status_of(Conflict("x"))) == (422, 404, 409)
    assert status_of(HTTPException(405)) == 405
    assert status_of(RequestValidationError([])) == 422
    assert status_of(ZeroDivisionError("x")) == FAULT[0]


def test_a_fault_is_told_by_a_number_and_nothing_of_its_inside() -> None:
    told = problems_of(ZeroDivisionError("secret /home/somebody/file.py"))[0].text
    assert "secret" not in told
    assert re.search(r"Fault [0-9a-f]{8}", told)


def test_no_page_shows_a_traceback(visit: Visit, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("inside")

    visitor = visit()
    monkeypatch.setattr(desk, "candidates", broken)
    for accept in ("text/html", "application/json"):
        answer = visitor.get("/", headers={"accept": accept})
        assert answer.status_code == 500
        assert "Traceback" not in answer.text
        assert "inside" not in answer.text
        assert "Fault" in answer.text
        assert answer.headers["content-security-policy"] == HEADERS["Content-Security-Policy"]


def test_every_page_carries_the_headers_that_keep_strangers_out(visitor: Visitor) -> None:
    """Content Security Policy Level 3; Fetch section 'X-Content-Type-Options'; HTML 'X-Frame-Options'."""
    static = re.search(r'/static/[^"]+\.css', visitor.page("/"))
    assert static is not None
    for address in ("/", "/new", "/shop", "/people", "/nowhere", "/calendar.ics", "/api/v1/candidates", static[0]):
        headers = visitor.get(address).headers
        for name in HEADERS:
            assert name in headers, (address, name)
        assert "unsafe-inline" not in headers["content-security-policy"]


def test_no_form_is_taken_that_was_not_made_here_for_this_browser(visit: Visit, desk: Desk) -> None:
    visitor, other = visit(), visit()
    foreign = other.token()
    addresses = [address for address in routes(visitor.app, "POST") if not address.startswith(BEHIND_A_LINK)]
    assert len(addresses) >= 15
    visitor.page("/")
    for address in addresses:
        for fields in ({}, {"form_token": "0" * 64}, {"form_token": foreign}):
            answer = visitor.post(address, data=fields, headers={"accept": "text/html"}, follow_redirects=False)
            assert answer.status_code == 403, (address, fields)
            assert "nothing was changed" in answer.text
    assert desk.candidates() == []


def test_a_form_from_another_site_is_refused_even_with_the_right_token(visitor: Visitor) -> None:
    for origin in ("https://elsewhere.example", "http://127.0.0.1:9999"):
        answer = visitor.submit("/demo", headers={"origin": origin})
        assert answer.status_code == 403
    assert visitor.submit("/me/theme", {"theme": "dark"}, headers={"origin": "http://127.0.0.1"}).status_code == 303


def test_nothing_is_changed_by_following_a_link(visit: Visit, desk: Desk) -> None:
    visitor = visit()
    before = len(desk.people.all()), desk.changes(0).last
    for address in routes(visitor.app, "GET"):
        if address != "/feed":
            visitor.get(address, headers={"accept": "text/html"})
    assert (len(desk.people.all()), desk.changes(0).last) in (before, (1, before[1])), "at most the owner came to be"


def test_more_than_is_taken_at_once_is_refused_before_it_is_read(visit: Visit) -> None:
    visitor = visit(Settings(largest_form=2000, largest_upload=5000))
    answer = visitor.submit("/new/read", {"advert": "x" * 3000}, of="/new")
    assert answer.status_code == 413
    assert "MB" in answer.text


def test_a_body_that_lies_about_its_length_is_cut_off(visit: Visit) -> None:
    visitor = visit(Settings(largest_form=2000))

    def pieces() -> Iterator[bytes]:
        for _ in range(10):
            yield b"a" * 1000

    headers = {"accept": "text/html", "content-type": "application/x-www-form-urlencoded"}
    answer = visitor.post("/new/read", content=pieces(), headers=headers)
    assert answer.status_code == 413


def test_errors_for_programs_all_have_one_shape(visitor: Visitor) -> None:
    for address in ("/nowhere", "/api/v1/candidates", "/api/v1/nowhere", f"/c/{ID}/money", "/static/nothing.css"):
        answer = visitor.get(address, headers={"accept": "application/json"})
        assert answer.status_code in (401, 404), address
        told = json.loads(answer.text)
        assert set(told) == {"error"}
        assert set(told["error"]) == {"kind", "problems"}
        assert all(set(problem) == {"where", "text"} for problem in told["error"]["problems"])


def test_a_shipped_file_may_be_kept_for_ever_and_comes_packed(visitor: Visitor) -> None:
    """RFC 8246 (immutable) and RFC 9110 section 8.4 (Content-Encoding)."""
    address = re.search(r"/static/tokens\.[0-9a-f]{10}\.css", visitor.page("/"))
    assert address is not None
    answer = visitor.get(address[0])
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["content-encoding"] == "gzip"
    assert visitor.get(address[0].replace(".css", "x.css")).status_code == 404
    assert visitor.get("/static/../app.py").status_code == 404


def test_pages_are_not_kept_by_what_lies_between(visitor: Visitor) -> None:
    assert visitor.get("/").headers["cache-control"] == "no-store"


def test_problem_texts_of_the_seller_cannot_bring_markup_into_a_page(visitor: Visitor, desk: Desk) -> None:
    name = '<img src=x onerror=alert(1)> & "quoted"'
    desk.open_candidate(name, "open-tub", desk.people.owner().id)
    page = visitor.page("/")
    assert "<img src=x" not in page
    assert "&lt;img src=x" in page
