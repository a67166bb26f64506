"""Taking in: an advertisement read, pictures sent, a dossier unpacked, a form filled in."""

from __future__ import annotations

import hashlib
import html
import io
import re
import shutil
import zipfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from visiting import DEMO, Visitor

from weldworth.workbench.desk import Desk

ADVERT = """1964 Ostrel 60 pickup
Runs and drives, 61,200 miles. Solid frame, no rust through. Floors were replaced years ago.
Fresh undercoating. Located in Grand Junction, CO. Asking $6,900. Call after six.
"""


def picture(seed: int = 0, size: tuple[int, int] = (640, 480)) -> bytes:
    """A picture of nothing in particular."""
    noise = np.random.default_rng(seed).integers(0, 256, (size[1], size[0], 3), dtype=np.uint8)
    made = Image.fromarray(noise).resize(size)
    out = io.BytesIO()
    made.save(out, "JPEG", quality=80)
    return out.getvalue()


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def upload(visitor: Visitor, name: str, content: bytes, item: str = ""):  # type: ignore[no-untyped-def]
    """What the page's script does: announce a file, then send it."""
    headers = {"accept": "application/json", "x-weldworth-form": visitor.token()}
    address = f"/new/up/{item or hashlib.sha256(name.encode() + content).hexdigest()[:32]}"
    said = {"kind": "pictures", "length": len(content), "name": name, "sha256": hashlib.sha256(content).hexdigest()}
    answer = visitor.put(address, json=said, headers=headers)
    return (
        answer
        if answer.status_code != 201
        else visitor.patch(address, content=content, headers={**headers, "upload-offset": "0"})
    )


def told(answer) -> str:  # type: ignore[no-untyped-def]
    """The first thing that was wrong."""
    assert answer.status_code == 422, answer.text
    return str(answer.json()["error"]["problems"][0])


def field(page: str, name: str) -> str:
    found = re.search(rf'name="{re.escape(name)}"[^>]*? value="([^"]*)"', page)
    return html.unescape(found[1]) if found else ""


def hidden(page: str, name: str) -> list[str]:
    return [html.unescape(text) for text in re.findall(rf'type="hidden" name="{name}" value="([^"]*)">', page)]


def test_an_advertisement_fills_the_form_and_shows_its_words(visitor: Visitor, desk: Desk) -> None:
    page = visitor.submit("/new/read", {"advert": ADVERT, "body": "pickup"}, of="/new").text
    assert field(page, "model_year") == "1964"
    assert field(page, "odometer") == "61,200"
    assert field(page, "sale.price") == "6,900"
    assert field(page, "sale.seller_place") == "Grand Junction, CO"
    assert "Solid frame" in page
    assert "seller’s word" in page
    assert desk.candidates() == [], "nothing is recorded before it is confirmed"


def test_what_was_read_is_recorded_as_the_sellers_word_once_it_is_confirmed(visitor: Visitor, desk: Desk) -> None:
    page = visitor.submit("/new/read", {"advert": ADVERT, "body": "pickup"}, of="/new").text
    claims = hidden(page, "claim")
    assert claims
    fields = {
        "name": "Ostrel 60",
        "body": "pickup",
        "model_year": "1964",
        "sale.kind": "asked",
        "sale.price": "6,900",
        "advert": ADVERT,
    }
    answer = visitor.submit("/new", {**fields, "claim": claims}, of="/new")
    assert answer.status_code == 303, answer.text
    view = desk.candidate(desk.candidates()[0].id)
    assert view.dossier.advert is not None
    assert view.dossier.advert.splitlines() == ADVERT.strip().splitlines()
    findings = view.data["finding"]
    assert findings
    assert {item["source"] for item in findings} == {"seller-word"}
    assert all("advertisement" in item["note"] for item in findings)


def test_a_claim_that_is_not_kept_is_not_recorded(visitor: Visitor, desk: Desk) -> None:
    fields = {"name": "Ostrel 60", "body": "pickup", "advert": ADVERT}
    assert visitor.submit("/new", fields, of="/new").status_code == 303
    assert "finding" not in desk.candidate(desk.candidates()[0].id).data


def test_typed_things_become_the_dossier(visitor: Visitor, desk: Desk) -> None:
    fields = {
        "name": "Vessina 1300", "body": "coupe", "model_year": "1968", "odometer": "88,000", "odometer_unit": "km",
        "history.0.place": "Grand Junction, CO", "history.0.from": "1968", "history.0.to": "1990", "history.0.storage": "garage",
        "history.0.salted_winters": "2", "history.0.papers": "yes",
        "history.3.place": "Denver, CO", "history.3.from": "1990",
        "sale.kind": "auction", "sale.price": "3,100", "sale.price_high": "5,000", "sale.closes": "2026-11-26T12:00",
        "sale.buyer_fee": "5 % min 250",
        "resale.low": "14,000", "resale.likely": "17,000", "resale.high": "21,000",
    }  # fmt: skip
    answer = visitor.submit("/new", fields, of="/new/typed")
    assert answer.status_code == 303, answer.text
    id = desk.candidates()[0].id
    assert answer.headers["location"] == f"/c/{id}/money"
    dossier = desk.candidate(id).dossier
    assert (dossier.vehicle.odometer, dossier.vehicle.odometer_unit) == (88000, "km")
    assert [(r.place, int(r.start)) for r in dossier.residences] == [("Grand Junction, CO", 1968), ("Denver, CO", 1990)]
    assert dossier.residences[0].papers
    assert dossier.sale is not None
    assert (dossier.sale.price_low, dossier.sale.price_high) == (3100, 5000)
    assert desk.weighing(id).ceiling.amount >= 0


@pytest.mark.parametrize(
    ("field_name", "typed", "told"),
    [
        ("name", "", "name"),
        ("body", "pickupp", "nearest: &#39;pickup&#39;"),
        ("model_year", "19644", "19644"),
        ("odometer", "lots", "lots"),
        ("history.0.from", "3024", "3024"),
        ("history.0.place", "Atlantis, XX", "Atlantis"),
        ("sale.price", "ten", "ten"),
        ("sale.closes", "someday", "someday"),
        ("sale.buyer_fee", "plenty", "plenty"),
        ("resale.low", "99,000", "out of order"),
        ("resale.likely", "-5", "-5"),
    ],
)
def test_what_is_wrong_is_said_beside_its_field_and_what_was_typed_is_kept(
    visitor: Visitor, desk: Desk, field_name: str, typed: str, told: str
) -> None:
    fields = {
        "name": "Vessina 1300", "body": "coupe", "model_year": "1968", "odometer": "88000", "number": "VX 1",
        "history.0.place": "Denver, CO", "history.0.from": "1990", "sale.kind": "asked", "sale.price": "3100",
        "resale.low": "14000", "resale.likely": "17000", "resale.high": "21000",
    }  # fmt: skip
    answer = visitor.submit("/new", {**fields, field_name: typed}, of="/new/typed")
    assert answer.status_code == 422
    beside = re.search(rf'id="{re.escape(field_name)}-wrong">([^<]*)<', answer.text)
    alert = answer.text.partition('role="alert"')[2].partition("</div>")[0]
    assert told in (beside[1] if beside else alert), answer.text.partition("<main")[2][:3000]
    if field_name != "resale.low":
        assert beside, "the words stand beside the field"
    assert field(answer.text, "number") == "VX 1"
    if typed and field_name != "body":
        assert field(answer.text, field_name) == typed
    assert desk.candidates() == []


def test_an_empty_advertisement_is_sent_back_with_words(visitor: Visitor) -> None:
    answer = visitor.submit("/new/read", {"advert": "   "}, of="/new")
    assert answer.status_code == 422
    assert "paste the advertisement" in answer.text


def test_pictures_arrive_and_are_recorded_with_the_candidate(visitor: Visitor, desk: Desk) -> None:
    sent = upload(visitor, "left.jpg", picture()).json()["reply"]
    assert [one["name"] for one in sent["kept"]] == ["left.jpg"]
    one = sent["kept"][0]
    fields = {"name": "Ostrel", "body": "pickup", "picture": f"{one['sha256']} {one['name']}"}
    answer = visitor.submit("/new", fields, of="/new/typed")
    id = desk.candidates()[0].id
    assert answer.headers["location"] == f"/c/{id}/pictures"
    assert [(p.name, p.sha256) for p in desk.candidate(id).pictures] == [("left.jpg", one["sha256"])]


def test_a_zip_of_pictures_is_unpacked_and_what_is_no_picture_is_named(visitor: Visitor) -> None:
    content = zipped({"a/1.jpg": picture(1), "a/2.jpg": picture(2), "a/notes.txt": b"hello there", "__MACOSX/x.jpg": b"x"})
    sent = upload(visitor, "walk.zip", content).json()["reply"]
    assert {one["name"] for one in sent["kept"]} == {"1.jpg", "2.jpg"}
    assert len(sent["problems"]) == 1 and sent["problems"][0].startswith("walk.zip: a/notes.txt")


def test_a_zip_that_reaches_outside_is_refused(visitor: Visitor, tmp_path: Path) -> None:
    assert "outside" in told(upload(visitor, "walk.zip", zipped({"../../outside.jpg": picture()})))
    assert not list(tmp_path.rglob("outside.jpg"))


def test_a_file_cut_off_on_the_way_is_named_and_nothing_is_kept(visitor: Visitor, desk: Desk) -> None:
    assert "half.zip" in told(upload(visitor, "half.zip", zipped({"1.jpg": picture()})[:200]))


def test_a_zipped_dossier_opens_a_candidate_that_weighs_the_same(visitor: Visitor, desk: Desk, tmp_path: Path) -> None:
    folder = next(DEMO.glob("*/candidate.toml")).parent
    packed = Path(shutil.make_archive(str(tmp_path / "demo"), "zip", folder.parent, folder.name))
    id = upload(visitor, "demo.zip", packed.read_bytes()).json()["reply"]["candidate"]
    other = desk.import_dossier(folder, desk.people.owner().id)
    assert desk.weighing(id).ceiling == desk.weighing(other).ceiling


def test_a_dossier_that_goes_out_comes_in_again(visitor: Visitor, desk: Desk) -> None:
    folder = next(DEMO.glob("*/candidate.toml")).parent
    id = desk.import_dossier(folder, desk.people.owner().id)
    packed = visitor.get(f"/c/{id}/dossier.zip")
    assert packed.headers["content-type"] == "application/zip"
    again = upload(visitor, "again.zip", packed.content).json()["reply"]["candidate"]
    assert desk.weighing(again).ceiling == desk.weighing(id).ceiling


def test_a_dossier_with_a_mistake_names_it_and_opens_nothing(visitor: Visitor, desk: Desk) -> None:
    answer = upload(visitor, "bad.zip", zipped({"x/candidate.toml": b'[vehicle]\nname = "A"\nbody = "pickupp"\n'}))
    assert "pickup" in told(answer)
    assert desk.candidates() == []


def test_a_dossier_whose_answer_was_lost_on_the_way_opens_one_candidate(visitor: Visitor, desk: Desk, tmp_path: Path) -> None:
    folder = next(DEMO.glob("*/candidate.toml")).parent
    packed = Path(shutil.make_archive(str(tmp_path / "demo"), "zip", folder.parent, folder.name)).read_bytes()
    first, again = (upload(visitor, "demo.zip", packed, "d" * 32).json() for _ in range(2))
    assert first == again
    assert [line.id for line in desk.candidates()] == [first["reply"]["candidate"]]


def test_where_one_of_several_things_is_wrong_nothing_of_the_candidate_is_recorded(visitor: Visitor, desk: Desk) -> None:
    one = upload(visitor, "left.jpg", picture()).json()["reply"]["kept"][0]
    fields = {"name": "Ostrel", "body": "pickup", "picture": [f"{one['sha256']} left.jpg", f"{'0' * 64} never-came.jpg"]}
    answer = visitor.submit("/new", fields, of="/new/typed")
    assert answer.status_code == 422 and "never-came.jpg" in answer.text
    assert desk.candidates(archived=None) == []
    fields["claim"] = '["finding", {"zone": "pu.no.such.zone", "sign": "hole", "source": "seller-word"}]'
    fields["picture"] = fields["picture"][:1]
    assert visitor.submit("/new", fields, of="/new/typed").status_code == 422
    assert desk.candidates(archived=None) == []


def test_two_pictures_of_one_name_are_both_recorded(visitor: Visitor, desk: Desk) -> None:
    sent = [upload(visitor, "left.jpg", picture(n)).json()["reply"]["kept"][0]["sha256"] for n in (1, 2)]
    fields = {"name": "Ostrel", "body": "pickup", "picture": [f"{sha256} left.jpg" for sha256 in sent]}
    visitor.submit("/new", fields, of="/new/typed")
    (line,) = desk.candidates()
    kept = {one.name: one.sha256 for one in desk.candidate(line.id).pictures}
    assert kept == {"left.jpg": sent[0], "left-2.jpg": sent[1]}


def test_without_scripts_pictures_come_in_one_form(visitor: Visitor) -> None:
    files = [("files", ("left.jpg", picture(), "image/jpeg")), ("files", ("note.txt", b"no picture at all", "text/plain"))]
    page = visitor.submit("/new/upload", files=files, of="/new").text
    assert len(hidden(page, "picture")) == 1 and "note.txt" in page
