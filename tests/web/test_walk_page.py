"""Walk without scripts: choosing one, what the phone gets, what it sends, what it changed."""

from __future__ import annotations

import hashlib
import io
import json
import re
import uuid
import wave
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from visiting import Visit, Visitor

from weldworth.web.settings import settings_for
from weldworth.workbench.desk import Desk
from weldworth.workbench.walking import walks_in

CORNER = "pu.corner.outer.l"


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


def send(visitor: Visitor, walk: str, kind: str, body: dict[str, object], data: bytes = b"", **more: Any) -> Any:
    """Send one thing as the phone does, the file in one piece; the last answer."""
    headers = {"x-weldworth-form": visitor.token(walk), "accept": "application/json"}
    address = f"{walk}/up/{more.pop('id', None) or uuid.uuid4().hex}"
    sha256 = hashlib.sha256(data).hexdigest() if data else None
    said = {"kind": kind, "body": body, "length": len(data), "sha256": sha256, **more}
    answer = visitor.put(address, json=said, headers=headers)
    if answer.status_code != 201:
        return answer
    return visitor.patch(address, content=data, headers={**headers, "upload-offset": answer.headers["upload-offset"]})


def picture() -> bytes:
    return noise(3)


def memo(place: Path) -> bytes:
    """Two seconds of silence as a plain wav file."""
    with wave.open(str(place / "memo.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(bytes(32000))
    return (place / "memo.wav").read_bytes()


def noise(seed: int) -> bytes:
    """A picture that is like no other: noise."""
    pixels = np.random.default_rng(seed).integers(0, 255, (480, 640, 3), dtype=np.uint8)
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
    assert not re.search("holed|in 100", visitor.told(walk))
    assert all(stop["caution"] for stop in data["stops"])


def test_what_is_sent_is_recorded_and_comes_back_with_the_page(visitor: Visitor, walk: str, desk: Desk, ostrel: str) -> None:
    answer = send(visitor, walk, "finding", {"zone": CORNER, "sign": "filler"})
    assert answer.status_code == 200 and answer.json()["reply"] == {"words": ""}
    assert [one["short"] for one in data_of(visitor.page(walk))["records"]] == ["filler"]
    assert desk.diary(ostrel)[-1].about.startswith("Cab corner, outer skin, left: filler")


def test_belief_and_ceiling_are_told_after_a_finding(visitor: Visitor, walk: str) -> None:
    send(visitor, walk, "finding", {"zone": CORNER, "sign": "hole"})
    found = visitor.get(walk + "/running?zone=pu.corner.outer.l,pu.nowhere").json()
    assert [one["zone"] for one in found["zones"]] == ["pu.corner.outer.l"]
    assert int(found["zones"][0]["bad"].strip("<>")) >= 90
    assert found["ceiling"].startswith(("Ceiling ", "As it stands nothing pays"))


def test_a_picture_comes_once_on_its_zone_with_the_time_it_was_taken(
    visitor: Visitor, walk: str, desk: Desk, ostrel: str
) -> None:
    id = uuid.uuid4().hex
    for _ in range(2):
        sent = send(visitor, walk, "picture", {"zone": CORNER, "note": "filler"}, picture(), id=id, waited=480)
        assert sent.status_code == 200, sent.text
    lines = desk.candidate(ostrel).pictures
    assert len(lines) == 1 and lines[0].zones == (CORNER,)
    assert lines[0].facts["taken_at"] == "2026-11-25T15:20:00+00:00" and desk.pictures.get(lines[0].sha256) == picture()


@pytest.mark.parametrize(
    ("kind", "body", "file", "words"),
    [
        ("picture", {"zone": "pu.corner.oter.l"}, picture(), "nearest: 'pu.corner.outer.l'"),
        ("picture", {}, b"no picture at all" * 40, "a text file"),
        ("picture", {}, b"", "come with their file"),
        ("finding", {"zone": CORNER, "sign": "hole"}, picture(), "come with their file"),
        ("finding", {"zone": CORNER, "sign": "hoel"}, b"", "nearest: 'hole'"),
        ("sing", {}, b"", "kind 'sing'"),
        ("note", {"zone": CORNER, "text": "x" * 2001}, b"", "longer than the 2000"),
        ("memo", {"zone": CORNER}, picture(), "no sound recording"),
    ],
)
def test_what_cannot_be_used_is_refused_with_its_reason(
    visitor: Visitor, walk: str, desk: Desk, ostrel: str, kind: str, body: dict[str, object], file: bytes, words: str
) -> None:
    before = len(desk.candidate(ostrel).entries)
    sent = send(visitor, walk, kind, body, file)
    assert sent.status_code == 422 and words in sent.json()["error"]["problems"][0]["text"]
    assert len(desk.candidate(ostrel).entries) == before


def test_a_memo_is_kept_under_its_hash_and_played_on_diary_and_metal(
    visitor: Visitor, walk: str, desk: Desk, ostrel: str, tmp_path: Path
) -> None:
    spoken = memo(tmp_path)
    assert send(visitor, walk, "memo", {"zone": CORNER, "seconds": 2}, spoken).status_code == 200
    sha256 = hashlib.sha256(spoken).hexdigest()
    address = f"/c/{ostrel}/memos/{sha256}"
    assert desk.pictures.get(sha256) == spoken
    assert f'src="{address}"' in visitor.page(f"/c/{ostrel}/diary")
    assert f'src="{address}"' in visitor.page(f"/c/{ostrel}/metal?zone={CORNER}")
    played = visitor.get(address, headers={"range": "bytes=0-9"})
    assert played.status_code == 206 and played.content == spoken[:10] and played.headers["content-type"] == "audio/wav"
    assert visitor.get(f"/c/{ostrel}/memos/{'0' * 64}").status_code == 404
    folder = desk.export_dossier(ostrel, tmp_path / "out")
    assert (folder / "memos" / f"memo-{sha256[:8]}.wav").read_bytes() == spoken


@pytest.mark.parametrize("minutes", ["", "soon", "3", "9999"])
def test_minutes_that_are_none_begin_no_walk(visitor: Visitor, ostrel: str, desk: Desk, minutes: str) -> None:
    sent = visitor.submit(f"/c/{ostrel}/walk", {"minutes": minutes, "source": "own-ground"})
    assert sent.status_code == 422 and "inutes is" in sent.text
    assert walks_in(desk.candidate(ostrel)) == []


def test_who_walks_must_be_somebody(visitor: Visitor, ostrel: str) -> None:
    sent = visitor.submit(f"/c/{ostrel}/walk", {"minutes": "15", "source": "seller-word"})
    assert sent.status_code == 422 and "seller-word" in sent.text


def test_another_site_cannot_send_to_a_walk(visitor: Visitor, walk: str) -> None:
    said = {"kind": "note", "body": {"text": "x"}}
    assert visitor.put(f"{walk}/up/{uuid.uuid4().hex}", json=said, headers={"accept": "application/json"}).status_code == 403


def test_there_is_nothing_at_a_walk_that_is_none(visitor: Visitor, ostrel: str) -> None:
    for end in ("", "/changed", "/running"):
        assert visitor.get(f"/c/{ostrel}/walk/{'0' * 32}{end}").status_code == 404


def test_the_end_shows_what_changed_and_what_was_not_looked_at(visitor: Visitor, walk: str, desk: Desk, ostrel: str) -> None:
    send(visitor, walk, "finding", {"zone": CORNER, "sign": "hole"})
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
