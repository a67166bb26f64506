"""Files dropped on a candidate's pictures, sent in pieces: broken off, gone on with, taken once, refused by name.

The semantics of offsets are those of the open tus protocol 1.0.0, https://tus.io/protocols/resumable-upload.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from typing import Any

import pytest
from test_pictures_page import jpeg
from visiting import Opened, Served, Visitor

from weldworth.web.settings import Settings
from weldworth.workbench.desk import Desk

JSON = {"accept": "application/json"}


@pytest.fixture
def id(desk: Desk) -> str:
    return desk.open_candidate("Tarrick short tub", "open-tub", desk.people.owner().id)


class Drop:
    """What the page's script does, without the page."""

    def __init__(self, visitor: Visitor, id: str) -> None:
        self.visitor, self.base = visitor, f"/c/{id}/pictures/up/"
        self.headers = {**JSON, "x-weldworth-form": visitor.token()}

    def announce(self, item: str, name: str, data: bytes, **more: Any) -> Any:
        said = {"kind": "pictures", "length": len(data), "name": name, "sha256": hashlib.sha256(data).hexdigest(), **more}
        return self.visitor.put(self.base + item, json=said, headers=self.headers)

    def add(self, item: str, data: bytes, offset: int) -> Any:
        return self.visitor.patch(self.base + item, content=data, headers={**self.headers, "upload-offset": str(offset)})

    def send(self, item: str, name: str, data: bytes) -> Any:
        said = self.announce(item, name, data)
        return said if said.status_code != 201 else self.add(item, data, 0)


@pytest.fixture
def drop(visitor: Visitor, id: str) -> Drop:
    return Drop(visitor, id)


def names(desk: Desk, id: str) -> list[str]:
    return [one.name for one in desk.candidate(id).pictures]


def test_a_file_that_broke_off_goes_on_where_it_stopped_and_is_kept_byte_for_byte(drop: Drop, desk: Desk, id: str) -> None:
    data = jpeg(1, size=(900, 700))
    half = len(data) // 2
    assert drop.announce("a" * 32, "one.jpg", data).headers["upload-offset"] == "0"
    assert drop.add("a" * 32, data[:half], 0).status_code == 204
    again = drop.announce("a" * 32, "one.jpg", data)
    assert again.headers["upload-offset"] == str(half)
    answer = drop.add("a" * 32, data[half:], half)
    assert answer.json()["reply"] == {"pictures": 1, "new": 1, "problems": []}
    (one,) = desk.candidate(id).pictures
    assert (one.name, desk.pictures.get(one.sha256)) == ("one.jpg", data)


def test_the_same_sent_again_is_recorded_once(drop: Drop, desk: Desk, id: str) -> None:
    data = jpeg(2)
    first = drop.send("b" * 32, "two.jpg", data)
    assert drop.announce("b" * 32, "two.jpg", data).json() == first.json()
    assert drop.send("c" * 32, "copy.jpg", data).json()["reply"] == {"pictures": 1, "new": 0, "problems": []}
    assert names(desk, id) == ["two.jpg"]


def test_a_zip_brings_its_pictures_under_free_names_and_names_what_is_none(drop: Drop, desk: Desk, id: str) -> None:
    drop.send("d" * 32, "a.jpg", jpeg(3))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("left/a.jpg", jpeg(4))
        archive.writestr("right/a.jpg", jpeg(5))
        archive.writestr("list.txt", "no picture at all")
    reply = drop.send("e" * 32, "walk.zip", packed.getvalue()).json()["reply"]
    assert (reply["pictures"], reply["new"]) == (2, 2) and "list.txt" in reply["problems"][0]
    assert names(desk, id) == ["a.jpg", "a-2.jpg", "a-3.jpg"]


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("notes.jpg", b"not a picture at all, only words that go on for a while", "give JPEG"),
        ("empty.jpg", b"", "is empty (0 bytes)"),
        ("cut.jpg", jpeg(6)[:4000], "cut off or damaged"),
    ],
)
def test_what_is_no_picture_is_refused_by_name_and_stays_refused(
    drop: Drop, desk: Desk, id: str, name: str, data: bytes, words: str
) -> None:
    answer = drop.send("f" * 32, name, data)
    assert answer.status_code == 422 and words in answer.json()["error"]["problems"][0]["text"]
    assert drop.announce("f" * 32, name, data).status_code == 422
    assert names(desk, id) == []


def test_bytes_that_are_not_those_announced_are_asked_for_anew(drop: Drop, desk: Desk, id: str) -> None:
    """Status 460 is the checksum extension's of tus 1.0.0."""
    data = jpeg(7)
    drop.announce("1" * 32, "x.jpg", data, sha256="0" * 64)
    assert drop.add("1" * 32, data, 0).status_code == 460
    assert names(desk, id) == []


def test_strangers_lookers_and_other_sites_send_nothing(visitor: Visitor, visit: Any, desk: Desk, id: str) -> None:
    said = {"kind": "pictures", "length": 10, "name": "x.jpg"}
    address = f"/c/{id}/pictures/up/{'2' * 32}"
    assert visitor.put(address, json=said, headers=JSON).status_code == 403
    shut = visit(Settings(open_door=False))
    words = "a long sentence to come in with"
    code = desk.people.invite("P. Looker", "read-only", desk.people.owner().id)
    fields = {"code": code, "name": "P. Looker", "password": words, "password_again": words}
    shut.submit("/welcome", fields, of="/welcome")
    assert shut.put(address, json=said, headers={**JSON, "x-weldworth-form": shut.token()}).status_code == 403
    missing = f"/c/{'0' * 32}/pictures/up/{'2' * 32}"
    assert visitor.put(missing, json=said, headers={**JSON, "x-weldworth-form": visitor.token()}).status_code == 404


@pytest.mark.browser
def test_dropped_files_show_their_progress_wait_out_a_lost_line_and_name_what_fails(opened: Opened, served_empty: Served) -> None:
    desk = served_empty.desk
    id = desk.open_candidate("Quenby Parcel", "van", desk.people.owner().id)
    page = opened("phone")
    page.goto(f"{served_empty.address}/c/{id}/pictures")
    page.context.set_offline(True)
    files = [
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": jpeg(8)},
        {"name": "note.txt", "mimeType": "text/plain", "buffer": b"no picture at all, only some words"},
    ]
    page.set_input_files("#files", files)
    page.wait_for_selector("#told >> text=No connection. What has not arrived goes on by itself.", timeout=20_000)
    assert names(desk, id) == []
    page.context.set_offline(False)
    page.wait_for_selector("#arrivals li:has-text('a.jpg') >> text=arrived", timeout=30_000)
    page.wait_for_selector("#arrivals li:has-text('note.txt') >> text=Not taken", timeout=30_000)
    page.wait_for_selector(".grid >> text=a.jpg", timeout=10_000)
    assert names(desk, id) == ["a.jpg"]
    page.tap("text=Leave it")
    page.wait_for_selector("#arrivals li:has-text('note.txt')", state="detached")


@pytest.mark.browser
def test_what_was_not_sent_before_the_page_was_closed_goes_when_it_is_opened_again(opened: Opened, served_empty: Served) -> None:
    desk = served_empty.desk
    id = desk.open_candidate("Mardle Two", "coupe", desk.people.owner().id)
    page = opened()
    address = f"{served_empty.address}/c/{id}/pictures"
    page.goto(address)
    page.route("**/pictures/up/*", lambda route: route.abort("internetdisconnected"))
    page.set_input_files("#files", [{"name": "kept.jpg", "mimeType": "image/jpeg", "buffer": jpeg(9)}])
    page.wait_for_selector("#arrivals >> text=kept.jpg")
    page.wait_for_timeout(500)
    page.close()
    second = page.context.new_page()
    second.goto(address)
    second.wait_for_selector(".grid >> text=kept.jpg", timeout=30_000)
    assert names(desk, id) == ["kept.jpg"]
