"""What a phone sends through a link: whole or in pieces, once, and what it is told when it cannot be taken.

The semantics of offsets are those of the open tus protocol 1.0.0, https://tus.io/protocols/resumable-upload (core protocol:
HEAD tells Upload-Offset, PATCH with another offset is 409; checksum extension: 460).
"""

from __future__ import annotations

import hashlib
import io
import resource
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import pytest
from phones import photo
from PIL import Image
from test_taking_in import picture
from visiting import StoppedClock, Visitor, make_desk

from weldworth.picture.folder import PictureFolder
from weldworth.store.parts import Parts
from weldworth.web.app import create_app
from weldworth.web.settings import settings_for
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import verify

ZONE = "pu.frame.horn.l"
ASK = f"picture:{ZONE}"
QUESTION = "question:salted-winters"
JSON = {"accept": "application/json"}


def one_colour() -> bytes:
    """A picture that opens and shows nothing: a thumb before the lens."""
    out = io.BytesIO()
    Image.new("RGB", (640, 480), (38, 24, 20)).save(out, "JPEG")
    return out.getvalue()


class Phone:
    """What a seller's page does, without its screen."""

    def __init__(self, desk: Desk, secret: str) -> None:
        self.desk, self.base = desk, f"/s/{secret}/up/"
        self.start()

    def start(self) -> None:
        """The desk as it is after a restart: nothing is left but what lies on the disk."""
        app = create_app(self.desk, settings_for("127.0.0.1"))
        self.line = Visitor(app, base_url="http://127.0.0.1", raise_server_exceptions=False)

    def announce(self, id: str, kind: str, body: dict[str, Any], data: bytes = b"", **more: Any) -> Any:
        said = {"kind": kind, "body": body, "length": len(data), **more}
        if data:
            said.setdefault("sha256", hashlib.sha256(data).hexdigest())
        return self.line.put(self.base + id, json=said, headers=JSON)

    def offset(self, id: str) -> int:
        return int(self.line.head(self.base + id).headers["upload-offset"])

    def add(self, id: str, data: bytes, offset: int) -> Any:
        return self.line.patch(self.base + id, content=data, headers={**JSON, "upload-offset": str(offset)})

    def send(self, id: str, data: bytes, ask: str = ASK) -> Any:
        said = self.announce(id, "picture", {"ask": ask}, data)
        return said if said.status_code != 201 else self.add(id, data, int(said.headers["upload-offset"]))


@pytest.fixture
def candidate(desk: Desk) -> str:
    return desk.open_candidate("Ostrel Forager", "pickup", desk.people.owner().id)


@pytest.fixture
def phone(desk: Desk, candidate: str) -> Phone:
    _, secret = desk.links.make(candidate, [ASK, QUESTION], desk.people.owner().id, label="Mr Dell")
    return Phone(desk, secret)


def entries(desk: Desk, candidate: str, *kinds: str) -> list[Any]:
    return [entry for entry in desk.candidate(candidate).standing if entry.kind in kinds]


def test_a_picture_lies_on_the_zone_that_was_asked_for_and_the_seller_hears_how_good_it_is(
    desk: Desk, candidate: str, phone: Phone
) -> None:
    data = picture(3)
    answer = phone.send("picture-0001", data)
    assert answer.status_code == 200, answer.text
    assert set(answer.json()["reply"]) == {"usable", "good", "faults", "words"}
    (entry,) = entries(desk, candidate, "picture")
    assert (entry.body["zones"], entry.body["source"]) == ([ZONE], "asked-picture")
    assert desk.pictures.get(entry.body["sha256"]) == data
    assert desk.candidate(candidate).sent[ASK] == "arrived"
    assert desk.people.names()[entry.by] == "seller Mr Dell"
    assert not verify(desk.candidate(candidate).entries)


def test_a_picture_goes_on_in_the_middle_after_the_line_broke_and_the_desk_was_restarted(
    desk: Desk, candidate: str, phone: Phone
) -> None:
    data = picture(4)
    phone.announce("picture-0002", "picture", {"ask": ASK}, data)
    assert phone.add("picture-0002", data[:1000], 0).status_code == 204
    phone.start()
    assert phone.offset("picture-0002") == 1000
    assert phone.announce("picture-0002", "picture", {"ask": ASK}, data).json() == {"done": False, "offset": 1000}
    assert phone.add("picture-0002", data[1000:], 1000).status_code == 200
    (entry,) = entries(desk, candidate, "picture")
    assert desk.pictures.get(entry.body["sha256"]) == data


def test_bytes_at_another_offset_are_refused_with_the_right_one(phone: Phone) -> None:
    data = picture(5)
    phone.announce("picture-0003", "picture", {"ask": ASK}, data)
    phone.add("picture-0003", data[:700], 0)
    answer = phone.add("picture-0003", data[:700], 0)
    assert (answer.status_code, answer.headers["upload-offset"]) == (409, "700")
    assert phone.line.head(phone.base + "picture-9999").status_code == 404


def test_what_is_sent_again_under_its_id_is_answered_again_and_recorded_once(desk: Desk, candidate: str, phone: Phone) -> None:
    data = picture(6)
    first = phone.send("picture-0004", data)
    phone.start()
    assert phone.send("picture-0004", data).json() == first.json()
    assert phone.send("picture-0005", data).status_code == 200
    assert len(entries(desk, candidate, "picture")) == 1


def test_damaged_bytes_are_noticed_and_the_picture_begins_anew(desk: Desk, candidate: str, phone: Phone) -> None:
    data = picture(7)
    phone.announce("picture-0006", "picture", {"ask": ASK}, data)
    wrong = data[:-1] + bytes([data[-1] ^ 1])
    answer = phone.add("picture-0006", wrong, 0)
    assert (answer.status_code, answer.headers["upload-offset"]) == (460, "0")
    assert phone.add("picture-0006", data, 0).status_code == 200
    assert len(entries(desk, candidate, "picture")) == 1


def with_reserve(desk: Desk, bytes: str) -> None:
    """The desk keeps so many bytes of its disk free."""
    text = desk.tables().path("phone_limits.csv").read_text().replace("reserve_bytes,5e8", f"reserve_bytes,{bytes}")
    desk.shop.change_table("phone_limits.csv", text, desk.people.owner().id)


@pytest.fixture
def small_disk(desk: Desk) -> Iterator[Path]:
    """A real disk of 4 MB on which the pictures lie: a tmpfs, where this user may mount one."""
    root = cast(PictureFolder, desk.pictures).root
    root.mkdir(parents=True, exist_ok=True)
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(root)], capture_output=True, check=False)
    if mounted.returncode:
        pytest.skip("this user may not mount a small disk")
    yield root
    subprocess.run(["umount", "-l", str(root)], check=True)


def filled(root: Path, left: int) -> Path:
    """A file that leaves so many bytes of the disk."""
    filler = root / "filler"
    filler.write_bytes(b"\0" * (shutil.disk_usage(root).free - left))
    return filler


@pytest.mark.skipif(shutil.which("mount") is None, reason="needs mount")
def test_a_disk_that_fills_up_is_told_and_the_picture_goes_on_where_it_broke_off(
    small_disk: Path, desk: Desk, candidate: str, phone: Phone
) -> None:
    """The disk is really full (POSIX ENOSPC)."""
    with_reserve(desk, "0")
    data = photo(8)
    phone.announce("picture-0007", "picture", {"ask": ASK}, data)
    filler = filled(small_disk, 65536)
    answer = phone.add("picture-0007", data, 0)
    assert (answer.status_code, answer.json()["error"]["kind"]) == (507, "disk-full")
    at = phone.offset("picture-0007")
    assert 0 < at < len(data)
    assert phone.add("picture-0007", data[at:], at).status_code == 507
    filler.unlink()
    at = phone.offset("picture-0007")
    assert phone.add("picture-0007", data[at:], at).status_code == 200
    assert desk.pictures.get(entries(desk, candidate, "picture")[0].body["sha256"]) == data


@pytest.mark.skipif(shutil.which("mount") is None, reason="needs mount")
def test_a_picture_that_came_whole_waits_for_room_to_be_taken_in(
    small_disk: Path, desk: Desk, candidate: str, phone: Phone
) -> None:
    with_reserve(desk, "0")
    data = photo(9)
    phone.announce("picture-0009", "picture", {"ask": ASK}, data)
    filler = filled(small_disk, len(data) + 32768)
    assert phone.add("picture-0009", data, 0).status_code == 507
    assert entries(desk, candidate, "picture") == [] and phone.offset("picture-0009") == len(data)
    filler.unlink()
    assert phone.announce("picture-0009", "picture", {"ask": ASK}, data).status_code == 200
    assert desk.pictures.get(entries(desk, candidate, "picture")[0].body["sha256"]) == data


def test_a_file_that_may_not_grow_is_told_as_a_full_disk(desk: Desk, candidate: str, phone: Phone) -> None:
    """The system's own limit on the size of a file (POSIX RLIMIT_FSIZE, EFBIG), which needs no right to mount."""
    data = photo(8)
    phone.announce("picture-0010", "picture", {"ask": ASK}, data)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(data) // 2, hard))
    try:
        answer = phone.add("picture-0010", data, 0)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert (answer.status_code, answer.json()["error"]["kind"]) == (507, "disk-full")
    at = phone.offset("picture-0010")
    assert at == len(data) // 2
    assert phone.add("picture-0010", data[at:], at).status_code == 200
    assert desk.pictures.get(entries(desk, candidate, "picture")[0].body["sha256"]) == data


def test_too_little_room_left_is_told_before_anything_is_sent(desk: Desk, phone: Phone) -> None:
    with_reserve(desk, "1e18")
    assert phone.announce("picture-0008", "picture", {"ask": ASK}, picture(9)).status_code == 507


@pytest.mark.parametrize(
    ("data", "where", "words"),
    [
        (b"%PDF-1.7" + bytes(2000), "not-a-picture", "a PDF document"),
        (b"\0\0\0\x18ftypmp42" + bytes(2000), "video", "This is a video"),
        (picture(1)[:400], "not-a-picture", "cut off or damaged"),
        (one_colour(), "one-colour", "uncover the lens"),
    ],
)
def test_what_is_no_picture_is_told_and_listed_and_leaves_nothing(
    desk: Desk, candidate: str, phone: Phone, data: bytes, where: str, words: str
) -> None:
    for _ in range(2):
        answer = phone.send("picture-0009", data)
        assert answer.status_code == 422
        assert answer.json()["error"]["problems"][0]["where"] == where
        assert words in answer.json()["error"]["problems"][0]["text"]
    assert not entries(desk, candidate, "picture")
    (line,) = desk.links.all(candidate)
    assert [receipt.state for receipt in line.receipts] == ["refused"]


def test_too_large_too_many_and_too_often_are_told(desk: Desk, phone: Phone, clock: StoppedClock) -> None:
    large = phone.line.put(phone.base + "picture-0010", json={"kind": "picture", "body": {}, "length": 31_000_000}, headers=JSON)
    assert (large.status_code, "31 MB" in large.text) == (413, True)
    text = desk.tables().path("phone_limits.csv").read_text().replace("link_pictures,80", "link_pictures,1")
    desk.shop.change_table("phone_limits.csv", text.replace("per_minute,240", "per_minute,12"), desk.people.owner().id)
    assert phone.send("picture-0011", picture(2)).status_code == 200
    assert phone.send("picture-0012", picture(3)).json()["error"]["problems"][0]["where"] == "too-many"
    codes = [phone.line.head(phone.base + "picture-0011").status_code for _ in range(12)]
    assert codes[-1] == 429
    clock.wait(minutes=1)
    assert phone.offset("picture-0011") > 0


def test_an_answer_counts_and_one_that_is_refused_is_evidence_too(desk: Desk, candidate: str, phone: Phone) -> None:
    assert phone.announce("answer-0001", "answer", {"ask": QUESTION, "answer": "never"}).status_code == 200
    assert phone.announce("cannot-0001", "cannot", {"ask": ASK, "why": "reach"}).status_code == 200
    assert desk.candidate(candidate).sent == {ASK: "refused", QUESTION: "arrived"}
    (answer,) = entries(desk, candidate, "answer")
    assert answer.body["answer"] == "never"
    assert [record.sign for record in desk.candidate(candidate).dossier.records if hasattr(record, "sign")] == ["not-shown"]


def test_a_picture_that_comes_after_all_takes_the_refusal_back(desk: Desk, candidate: str, phone: Phone) -> None:
    phone.announce("cannot-0002", "cannot", {"ask": ASK, "why": "covered"})
    phone.send("picture-0013", picture(4))
    assert desk.candidate(candidate).sent[ASK] == "arrived"
    assert not [record for record in desk.candidate(candidate).dossier.records if getattr(record, "sign", "") == "not-shown"]


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("answer", {"ask": QUESTION, "answer": "no such answer"}),
        ("answer", {"ask": QUESTION}),
        ("answer", {"ask": "question:title", "answer": "x"}),
        ("answer", {"ask": QUESTION, "words": "x" * 2001}),
        ("cannot", {"ask": ASK, "why": "because"}),
        ("cannot", {"ask": ["a"], "why": "reach"}),
        ("keep", {"ask": ASK}),
        ("bid", {"ask": ASK}),
        ("picture", {"ask": ASK}),
    ],
)
def test_what_the_page_would_never_send_is_refused_and_nothing_is_recorded(
    desk: Desk, candidate: str, phone: Phone, kind: str, body: dict[str, Any]
) -> None:
    before = desk.candidate(candidate).revision
    answer = phone.announce("strange-0001", kind, body)
    assert answer.status_code == 422, answer.text
    assert desk.candidate(candidate).revision == before
    assert phone.announce("no/id", kind, body).status_code in (404, 405)
    assert phone.announce("short", "answer", {"ask": QUESTION, "answer": "never"}, b"x").status_code == 422


def test_a_phone_whose_clock_is_wrong_by_a_day_is_dated_by_the_desk(desk: Desk, candidate: str, phone: Phone) -> None:
    """The phone says how long the picture waited, which is right whatever its clock shows; the desk's own day counts."""
    phone.announce("picture-0014", "picture", {"ask": ASK}, data := picture(5), waited=2 * 86400)
    phone.add("picture-0014", data, 0)
    assert entries(desk, candidate, "picture")[0].body["taken_on"] == "2026-11-23"
    assert entries(desk, candidate, "picture")[0].at.date() == desk.clock.today()


def test_the_place_where_a_picture_was_taken_is_in_nothing_that_is_shown(
    desk: Desk, candidate: str, phone: Phone, visitor: Visitor
) -> None:
    exif, out = Image.Exif(), io.BytesIO()
    exif.get_ifd(0x8825).update({1: "N", 2: (38.0, 30.0, 0.0), 3: "W", 4: (106.0, 0.0, 0.0)})
    Image.open(io.BytesIO(picture(6))).save(out, "JPEG", exif=exif)
    assert b"Exif" in out.getvalue()
    phone.send("picture-0015", out.getvalue())
    sha256 = entries(desk, candidate, "picture")[0].body["sha256"]
    for size in ("small", "large"):
        assert b"Exif" not in visitor.get(f"/c/{candidate}/pictures/{sha256}/{size}.jpg").content


def test_a_desk_opened_on_the_same_folder_knows_its_links(tmp_path: Path, desk: Desk, candidate: str, phone: Phone) -> None:
    phone.desk = make_desk(tmp_path)
    phone.start()
    assert phone.send("picture-0016", picture(7)).status_code == 200
    assert len(entries(phone.desk, candidate, "picture")) == 1


def test_the_beginning_of_an_upload_is_kept_and_forgotten_once_it_is_old(tmp_path: Path) -> None:
    parts = Parts(tmp_path)
    part = parts.begin("seller:a", "picture-0001", 10, {})
    part.add(b"12345")
    last = part.path.stat().st_mtime
    parts.forget_before(last - 1)
    assert [one.offset for one in parts.begun("seller:a")] == [5]
    parts.forget_before(last + 1)
    assert (parts.begun("seller:a"), parts.find("seller:a", "picture-0001")) == ([], None)
