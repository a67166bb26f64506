"""What the machine sees on pictures, through the interface for programs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from visiting import Visitor

from weldworth.workbench.desk import Desk

RUSTY = Path(__file__).resolve().parents[1] / "picture/data/rust_phone_41.jpg"
ZONE = "ot.hood"


def call(visitor: Visitor, desk: Desk, role: str = "owner") -> Any:
    owner = desk.people.owner().id
    token = desk.people.give_token(owner, "test", role=role)

    def send(method: str, path: str, status: int = 200, **more: Any) -> Any:
        answer = visitor.request(method, f"/api/v1{path}", headers={"authorization": f"Bearer {token}"}, **more)
        assert answer.status_code == status, answer.text
        return answer.json()

    return send


@pytest.fixture
def picture(desk: Desk) -> str:
    id = desk.open_candidate("Ostrel", "open-tub", desk.people.owner().id)
    entry = desk.add_picture(id, RUSTY.read_bytes(), "hood.jpg", desk.people.owner().id)
    return f"/candidates/{id}/pictures/{entry.body['sha256']}"


def test_a_suggestion_is_put_on_a_zone_accepted_dismissed_and_restored(visitor: Visitor, desk: Desk, picture: str) -> None:
    send = call(visitor, desk)
    assert send("GET", f"{picture}/findings")["zones"] == []
    send("POST", f"{picture}/describe", 201, json={"said": {"zones": [ZONE], "source": "asked-picture"}})
    (zone,) = send("GET", f"{picture}/findings")["zones"]
    assert zone["zone"] == ZONE and 0 <= zone["sight"]["d610"] <= 10 and 0 <= zone["sight"]["ri"] <= 5
    assert {"sign", "probability", "measured_on", "state", "seq", "meaning"} == set(zone["suggestions"][0])
    judged = {"zone": ZONE, "sign": "surface-rust"}
    for act, state in (("dismiss", "dismissed"), ("restore", "suggested"), ("accept", "accepted")):
        send("POST", f"{picture}/{act}", 201, json=judged)
        found = send("GET", f"{picture}/findings")["zones"][0]["suggestions"]
        assert next(one["state"] for one in found if one["sign"] == "surface-rust") == state


def test_what_is_not_suggested_or_not_there_is_refused(visitor: Visitor, desk: Desk, picture: str) -> None:
    send = call(visitor, desk)
    told = send("POST", f"{picture}/accept", 422, json={"zone": ZONE, "sign": "hole"})
    assert told["error"]["problems"][0]["where"] == "zone"
    send("POST", f"{picture}/describe", 422, json={"said": {"zones": ["ot.bonnet"]}})
    send("POST", f"{picture}/accept", 422, json={"sign": "hole", "colour": "red"})
    send("GET", f"{picture[:-64]}{'0' * 64}/findings", 404)


def test_who_may_only_look_judges_nothing(visitor: Visitor, desk: Desk, picture: str) -> None:
    send = call(visitor, desk, "read-only")
    send("GET", f"{picture}/findings")
    for act in ("accept", "dismiss", "restore"):
        send("POST", f"{picture}/{act}", 403, json={"sign": "surface-rust"})
