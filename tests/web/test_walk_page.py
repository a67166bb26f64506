"""Walk without scripts: choosing one, what the phone gets, what it sends, what it changed."""

from __future__ import annotations

import io
import json
import re
import uuid
from typing import Any

import numpy as np
import pytest
from PIL import Image
from visiting import Visit, Visitor

from weldworth.web.settings import settings_for
from weldworth.workbench.desk import Desk
from weldworth.workbench.walking import walks_in

TAKEN = "2026-11-25T15:20:00+00:00"


@pytest.fixture
def ostrel(desk: Desk) -> str:
    """An invented pickup with a resale view, so that there is a ceiling."""
    by = desk.people.owner("O. Wren").id
    id = desk.open_candidate("Ostrel 60", "pickup", by, model_year=1964)
    desk.record(id, "resale", {"low": 24_000, "likely": 28_000, "high": 33_000}, by)
    desk.record(id, "sale", {"kind": "asked", "price": 9_000}, by)
    return id


@pytest.fixture
def walk(visitor: Visitor, ostrel: str) -> str:
    """The address of a walk that has begun."""
    sent = visitor.submit(f"/c/{ostrel}/walk", {"minutes": "15", "source": "own-ground"})
    assert sent.status_code == 303
    return str(sent.headers["location"])


def data_of(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="walk-data">(.*?)</script>', page, re.DOTALL)
    assert found
    return dict(json.loads(found[1]))


def told(visitor: Visitor, walk: str, *items: dict[str, object]) -> list[dict[str, Any]]:
    body = {"items": [{"mark": uuid.uuid4().hex, "taken_at": TAKEN, **item} for item in items]}
    answer = visitor.post(walk + "/records", json=body, headers={"x-weldworth-form": visitor.token(walk)})
    assert answer.status_code == 200, answer.text
    return list(answer.json()["items"])


def picture() -> bytes:
    pixels = np.random.default_rng(3).integers(0, 255, (480, 640, 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=88)
    return out.getvalue()


def test_the_way_is_shown_before_one_goes_and_follows_the_minutes(visitor: Visitor, ostrel: str) -> None:
    counts = []
    for minutes in (15, 40, 90):
        page = visitor.page(f"/c/{ostrel}/walk?minutes={minutes}")
        counts.append(len(re.findall(r'class="nr num"', page)))
        assert "Never under a vehicle on a jack" in page and "Begin this walk" in page
    assert counts == sorted(counts) and counts[0] >= 3


def test_a_link_to_the_walk_stands_on_every_page_of_a_candidate(visitor: Visitor, ostrel: str) -> None:
    for tab in ("metal", "asks", "money", "diary", "pictures"):
        assert f'href="/c/{ostrel}/walk"' in visitor.page(f"/c/{ostrel}/{tab}")


def test_the_phone_gets_everything_it_needs_and_no_belief(visitor: Visitor, walk: str) -> None:
    page = visitor.page(walk)
    data = data_of(page)
    zones = [zone for stop in data["stops"] for zone in stop["zones"]]
    assert zones and all("<svg" in zone["drawn"] for zone in zones if not zone.get("place"))
    assert all(sorted(zone["signs"]) == sorted(zones[0]["signs"]) for zone in zones if not zone.get("place"))
    assert "holed" not in page and "in 100" not in page
    assert all(stop["caution"] for stop in data["stops"])


def test_what_is_sent_is_recorded_and_comes_back_with_the_page(visitor: Visitor, walk: str, desk: Desk, ostrel: str) -> None:
    answers = told(visitor, walk, {"kind": "finding", "zone": "pu.corner.outer.l", "sign": "filler"})
    assert answers[0]["state"] == "kept"
    assert [one["short"] for one in data_of(visitor.page(walk))["records"]] == ["filler"]
    assert desk.diary(ostrel)[-1].about.startswith("Cab corner, outer skin, left: filler")


def test_belief_and_ceiling_are_told_after_a_finding(visitor: Visitor, walk: str) -> None:
    told(visitor, walk, {"kind": "finding", "zone": "pu.corner.outer.l", "sign": "hole"})
    found = visitor.get(walk + "/running?zone=pu.corner.outer.l,pu.nowhere").json()
    assert [one["zone"] for one in found["zones"]] == ["pu.corner.outer.l"]
    assert int(found["zones"][0]["bad"].strip("<>")) >= 90
    assert found["ceiling"].startswith(("Ceiling ", "As it stands nothing pays"))


def test_a_picture_comes_once_on_its_zone_with_the_time_it_was_taken(
    visitor: Visitor, walk: str, desk: Desk, ostrel: str
) -> None:
    mark = uuid.uuid4().hex
    for _ in range(2):
        fields = {"mark": mark, "taken_at": TAKEN, "zone": "pu.corner.outer.l", "note": "filler"}
        sent = visitor.submit(walk + "/pictures", fields, of=walk, files={"file": ("image.jpg", picture(), "image/jpeg")})
        assert sent.status_code == 200, sent.text
    lines = desk.candidate(ostrel).pictures
    assert len(lines) == 1 and lines[0].zones == ("pu.corner.outer.l",)
    assert lines[0].facts["taken_at"] == TAKEN and desk.pictures.get(lines[0].sha256) == picture()


@pytest.mark.parametrize(
    ("fields", "file", "words"),
    [
        ({"mark": "x"}, picture(), "mark is missing"),
        ({"taken_at": "noon"}, picture(), "no moment"),
        ({"zone": "pu.corner.oter.l"}, picture(), "nearest: &#39;pu.corner.outer.l&#39;"),
        ({}, b"no picture at all", "give JPEG"),
    ],
)
def test_a_picture_that_cannot_be_used_is_refused_with_its_reason(
    visitor: Visitor, walk: str, desk: Desk, ostrel: str, fields: dict[str, str], file: bytes, words: str
) -> None:
    given = {"mark": uuid.uuid4().hex, "taken_at": TAKEN, "zone": "pu.corner.outer.l", **fields}
    sent = visitor.submit(walk + "/pictures", given, of=walk, files={"file": ("a.jpg", file, "image/jpeg")})
    assert sent.status_code == 422 and words in sent.text
    assert desk.candidate(ostrel).pictures == ()


@pytest.mark.parametrize("minutes", ["", "soon", "3", "9999"])
def test_minutes_that_are_none_begin_no_walk(visitor: Visitor, ostrel: str, desk: Desk, minutes: str) -> None:
    sent = visitor.submit(f"/c/{ostrel}/walk", {"minutes": minutes, "source": "own-ground"})
    assert sent.status_code == 422 and "inutes is" in sent.text
    assert walks_in(desk.candidate(ostrel)) == []


def test_who_walks_must_be_somebody(visitor: Visitor, ostrel: str) -> None:
    sent = visitor.submit(f"/c/{ostrel}/walk", {"minutes": "15", "source": "seller-word"})
    assert sent.status_code == 422 and "seller-word" in sent.text


@pytest.mark.parametrize("body", [b"nothing", b"[]", b'{"items": []}', b'{"items": "x"}', b"{}"])
def test_what_is_no_list_of_things_is_refused_whole(visitor: Visitor, walk: str, body: bytes) -> None:
    headers = {"x-weldworth-form": visitor.token(walk), "content-type": "application/json"}
    answer = visitor.post(walk + "/records", content=body, headers={**headers, "accept": "application/json"})
    assert answer.status_code == 422 and answer.json()["error"]["kind"] == "bad-input"


def test_another_site_cannot_send_to_a_walk(visitor: Visitor, walk: str) -> None:
    assert visitor.post(walk + "/records", json={"items": []}, headers={"accept": "application/json"}).status_code == 403


def test_there_is_nothing_at_a_walk_that_is_none(visitor: Visitor, ostrel: str) -> None:
    for end in ("", "/changed", "/running"):
        assert visitor.get(f"/c/{ostrel}/walk/{'0' * 32}{end}").status_code == 404


def test_the_end_shows_what_changed_and_what_was_not_looked_at(visitor: Visitor, walk: str, desk: Desk, ostrel: str) -> None:
    told(visitor, walk, {"kind": "finding", "zone": "pu.corner.outer.l", "sign": "hole"})
    sent = visitor.submit(walk + "/end", of=walk)
    assert sent.status_code == 303
    page = visitor.page(sent.headers["location"])
    assert "Ceiling before" in page and "Cab corner, outer skin, left" in page and "without a record" in page
    assert walks_in(desk.candidate(ostrel))[0].ended is not None


def test_who_only_looks_sees_the_way_and_begins_nothing(visit: Visit, desk: Desk, ostrel: str) -> None:
    looker = desk.people.add("L. Ash", "read-only", "a long enough password")
    stranger = visit(settings_for("0.0.0.0", names=["127.0.0.1"]))
    stranger.cookies.set("weldworth_session", desk.people.begin_session(looker.id))
    assert "Begin this walk" not in stranger.page(f"/c/{ostrel}/walk")
    assert stranger.submit(f"/c/{ostrel}/walk", {"minutes": "15", "source": "own-ground"}).status_code == 403


def test_programs_plan_begin_and_end_walks(visitor: Visitor, ostrel: str, desk: Desk) -> None:
    token = {"authorization": f"Bearer {desk.people.give_token(desk.people.owner().id, 'test')}"}
    base = f"/api/v1/candidates/{ostrel}"
    plan = visitor.get(base + "/walk-plan?minutes=15&source=own-lift", headers=token).json()
    assert plan["seconds"] <= 900 and plan["stops"]
    walk = visitor.post(base + "/walks", json={"minutes": 15, "source": "own-lift"}, headers=token).json()["walk"]
    assert visitor.post(f"{base}/walks/{walk}/end", headers=token).status_code == 201
    assert [(one["id"], one["ended"] is not None) for one in visitor.get(base + "/walks", headers=token).json()] == [(walk, True)]
    assert visitor.post(base + "/walks", json={"minutes": 2}, headers=token).status_code == 422
