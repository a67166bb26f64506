"""The interface for programs: the same use cases, the same errors."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from visiting import DEMO, Visit, Visitor

from weldworth.web.api.document import addresses
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import entry_of, verify

API = "/api/v1"


class Program:
    """A program with a token."""

    def __init__(self, visitor: Visitor, token: str) -> None:
        self.visitor, self.headers = visitor, {"authorization": f"Bearer {token}"}

    def __call__(self, method: str, path: str, status: int = 200, **more: Any) -> Any:
        answer = self.visitor.request(method, API + path, headers=self.headers, **more)
        assert answer.status_code == status, answer.text
        return answer.json()


@pytest.fixture
def program(visitor: Visitor, desk: Desk) -> Program:
    return Program(visitor, desk.people.give_token(desk.people.owner().id, "test"))


def test_without_a_good_token_nothing_is_told_even_on_this_machine(visitor: Visitor) -> None:
    """RFC 6750 section 3: a refusal names the scheme."""
    for headers in ({}, {"authorization": "Bearer wrong"}, {"authorization": "Basic d3Jvbmc6d3Jvbmc="}):
        answer = visitor.get(f"{API}/candidates", headers=headers)
        assert answer.status_code == 401
        assert answer.headers["www-authenticate"] == "Bearer"


def test_a_whole_candidate_through_the_interface(program: Program) -> None:
    id = program("POST", "/candidates", 201, json={"name": "Ostrel", "body": "pickup", "facts": {"model_year": 1964}})["id"]
    for kind, body in (
        ("residence", {"place": "Denver, CO", "from": 1964}),
        ("resale", {"low": 14000, "likely": 17000, "high": 21000}),
        ("sale", {"kind": "asked", "price": 6900}),
        ("finding", {"zone": "pu.frame.tail", "sign": "scale", "source": "asked-picture"}),
    ):
        program("POST", f"/candidates/{id}/entries", 201, json={"kind": kind, "body": body})
    weighed = program("GET", f"/candidates/{id}/weighing")
    assert set(weighed["belief"]["pu.frame.tail"]) == {"sound", "surface", "pitted", "holed", "mended", "masked"}
    assert sum(weighed["belief"]["pu.frame.tail"].values()) == pytest.approx(1, abs=1e-9)
    asks = [f"{ask['kind']}:{ask['zone']}" for ask in weighed["asks"][:2]]
    assert program("POST", f"/candidates/{id}/asks/message", json={"asks": asks})["text"]
    assert program("POST", f"/candidates/{id}/asks/worth", json={"asks": asks})["worth"] >= 0
    tried = program("POST", f"/candidates/{id}/what-if", json={"changes": [{"labour_rate": 200}, {"paint": "none"}]})
    assert tried[0]["body"]["bill_mean"] > tried[1]["body"]["bill_mean"]
    program("POST", f"/candidates/{id}/snapshots", 201, json={"label": "before the bid"})
    assert [one["label"] for one in program("GET", f"/candidates/{id}/snapshots")] == ["before the bid"]
    program("POST", f"/candidates/{id}/undo", 201)
    assert "finding" not in program("GET", f"/candidates/{id}")["data"]


def test_entries_that_come_out_hold_their_chain(program: Program, desk: Desk) -> None:
    id = desk.import_dossier(next(DEMO.glob("*/candidate.toml")).parent, desk.people.owner().id)
    entries = [entry_of(one) for one in program("GET", f"/candidates/{id}/entries")]
    assert verify(entries) == []
    assert program("GET", "/verify") == {}


def test_a_conflict_is_told_and_nothing_is_overwritten(program: Program) -> None:
    id = program("POST", "/candidates", 201, json={"name": "Ostrel", "body": "pickup"})["id"]
    made_from = program("GET", f"/candidates/{id}")["revision"]
    first = {"kind": "sale", "body": {"kind": "asked", "price": 6900}, "revision": made_from}
    program("POST", f"/candidates/{id}/entries", 201, json=first)
    second = {"kind": "sale", "body": {"kind": "asked", "price": 5000}, "revision": made_from}
    assert program("POST", f"/candidates/{id}/entries", 409, json=second)["error"]["kind"] == "conflict"
    assert program("GET", f"/candidates/{id}")["data"]["sale"]["price"] == 6900


@pytest.mark.parametrize(
    ("method", "path", "body", "status", "word"),
    [
        ("POST", "/candidates", {"name": "X", "body": "pickupp"}, 422, "pickup"),
        ("POST", "/candidates", {"name": "X"}, 422, "body"),
        ("POST", "/candidates", {"name": "X", "body": "pickup", "colour": "red"}, 422, "colour"),
        ("GET", "/candidates?order=sideways", None, 422, "sideways"),
        ("GET", f"/candidates/{'0' * 32}", None, 404, "no candidate"),
        ("GET", "/tables/deals.csv", None, 404, "deal.csv"),
        ("PUT", "/shop/terms", {"terms": {"margn": 0.2}}, 422, "margin"),
        ("POST", "/adverts/read", {"text": ""}, 422, "empty"),
        ("POST", f"/candidates/{'0' * 32}/asks/message", {"asks": []}, 422, "asks"),
        ("GET", f"/pictures/{'0' * 64}", None, 404, "picture"),
        ("GET", "/pictures/not-a-hash", None, 422, "SHA-256"),
    ],
)
def test_what_cannot_be_is_refused_in_one_shape(
    program: Program, method: str, path: str, body: dict[str, object] | None, status: int, word: str
) -> None:
    told = program(method, path, status, json=body)
    assert set(told) == {"error"}
    assert word in str(told["error"]["problems"])


def test_a_token_does_no_more_than_its_role(visitor: Visitor, desk: Desk) -> None:
    owner = desk.people.owner().id
    looks = Program(visitor, desk.people.give_token(owner, "looks", role="read-only"))
    works = Program(visitor, desk.people.give_token(owner, "works", role="partner"))
    assert looks("GET", "/candidates") == []
    assert looks("POST", "/adverts/read", json={"text": "1964 pickup, no rust"})["claims"]
    assert looks("POST", "/candidates", 403, json={"name": "X", "body": "pickup"})["error"]["kind"] == "not-allowed"
    assert works("POST", "/candidates", 201, json={"name": "X", "body": "pickup"})
    for method, path, body in (
        ("PUT", "/shop/terms", {"terms": {}}),
        ("PUT", "/tables/deal.csv", {"text": None}),
        ("POST", "/people/invitations", {"role": "owner"}),
    ):
        assert works(method, path, 403, json=body)["error"]["kind"] == "not-allowed"


def test_a_token_in_a_cookie_or_address_is_no_token(visitor: Visitor, desk: Desk) -> None:
    token = desk.people.give_token(desk.people.owner().id, "test")
    visitor.cookies.set("authorization", f"Bearer {token}")
    assert visitor.get(f"{API}/candidates?token={token}&access_token={token}").status_code == 401


def test_passwords_are_never_told(program: Program, desk: Desk) -> None:
    desk.people.add("J. Osk", "partner", "$argon2id$kept")
    assert "argon2" not in str(program("GET", "/people"))


def test_the_feed_of_changes_goes_on_from_where_one_stopped(program: Program) -> None:
    program("POST", "/candidates", 201, json={"name": "One", "body": "pickup"})
    first = program("GET", "/changes")
    program("POST", "/candidates", 201, json={"name": "Two", "body": "van"})
    second = program("GET", f"/changes?since={first['last']}")
    assert len(second["changes"]) == 1
    assert second["last"] > first["last"]


def test_every_address_is_described_with_its_refusals(visit: Visit) -> None:
    described = visit().get(f"{API}/openapi.json").json()
    assert described["openapi"].startswith("3.")
    for path, methods in described["paths"].items():
        assert path.startswith(API)
        for method, told in methods.items():
            assert told["security"], (method, path)
            assert told["description"], (method, path)
            assert {"401", "404", "422"} <= set(told["responses"]), (method, path)


def test_the_document_on_the_interface_names_every_address(visit: Visit) -> None:
    text = (Path(__file__).parents[2] / "docs" / "api.md").read_text(encoding="utf-8")
    described = visit().get(f"{API}/openapi.json").json()
    wanted = {(one.method, one.path) for _, group in addresses(described) for one in group}
    assert set(re.findall(r"^### `([A-Z]+) (\S+)`$", text, re.MULTILINE)) == wanted


def test_the_page_on_the_interface_names_every_address(visitor: Visitor) -> None:
    page = visitor.page("/interface")
    for path in visitor.get(f"{API}/openapi.json").json()["paths"]:
        assert path.replace("{", "{") in page
