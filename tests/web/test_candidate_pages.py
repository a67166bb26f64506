"""Metal, Pictures, Asks, Money and Diary of one candidate: what they show, what they record, what they refuse."""

from __future__ import annotations

import io
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader
from visiting import StoppedClock, Visitor, unpictured

from weldworth.drawings.shelf import bodies, views
from weldworth.report.metal import zone_row
from weldworth.tables import load_tables
from weldworth.vehicle.plans import load_plan
from weldworth.web.plates import layers_of, plates
from weldworth.workbench.desk import Desk
from weldworth.workbench.looking import AT_ONCE

PICTURES = Path(__file__).resolve().parents[1] / "picture/data"


@pytest.fixture
def id(desk: Desk, tmp_path: Path) -> str:
    """The demo vehicle that one ask decides."""
    return desk.import_dossier(unpictured(tmp_path / "bare", "ostrel-forager"), desk.people.owner().id)


def jpeg(shade: int = 120) -> bytes:
    rng = np.random.default_rng(shade)
    pixels = (rng.normal(0, 25, (240, 320, 3)) + shade).clip(0, 255).astype(np.uint8)
    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, "JPEG", quality=90)
    return kept.getvalue()


def test_every_zone_is_in_the_list_worst_first_and_can_be_chosen(visitor: Visitor, desk: Desk, id: str) -> None:
    page = visitor.page(f"/c/{id}/metal")
    listed = re.findall(r'<td><a href="\?zone=([^"]+)"', page)
    plan = desk.metal(id).plan
    assert sorted(listed) == sorted(plan.index)
    chances = [float(x) for x in re.findall(r'<td class="num">(?:&lt;)?(\d+)</td><td>(?:not )?seen', page)]
    assert chances == sorted(chances, reverse=True)
    assert plan.zone("ot.floor.hat.l").label in visitor.page(f"/c/{id}/metal?zone=ot.floor.hat.l")


def test_a_zone_explains_itself(visitor: Visitor, id: str) -> None:
    page = visitor.page(f"/c/{id}/metal/ot.wsframe.inside")
    assert "What moved it" in page and "bubbling" in page
    assert page.count("in 100") >= 6
    assert "Probe only with the owner&#39;s leave." in page


def test_a_zone_underneath_carries_the_caution(visitor: Visitor, id: str) -> None:
    assert "Never under a vehicle on a jack." in visitor.page(f"/c/{id}/metal/ot.frame.rail_mid.l")


def test_a_finding_is_recorded_by_one_button_and_moves_the_zone(visitor: Visitor, desk: Desk, id: str) -> None:
    zone = "ot.frame.rear_kick.l"
    before = desk.metal(id).belief.of(zone)["holed"]
    fields = {"zone": zone, "sign": "hole", "source": "own-lift", "revision": str(desk.candidate(id).revision)}
    answer = visitor.submit(f"/c/{id}/metal", fields)
    assert answer.status_code == 303
    assert desk.candidate(id).entries[-1].kind == "finding"
    assert desk.metal(id).belief.of(zone)["holed"] > before + 0.3


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"zone": "ot.rocker.uter.l"}, "ot.rocker.outer.l"),
        ({"sign": "bubling"}, "bubbling"),
        ({"quality": "much"}, "is not a number"),
    ],
)
def test_a_finding_that_cannot_be_is_refused_in_words_and_nothing_is_recorded(
    visitor: Visitor, desk: Desk, id: str, change: dict[str, str], words: str
) -> None:
    count = len(desk.candidate(id).entries)
    fields = {"zone": "ot.rocker.outer.l", "sign": "hole", "source": "own-ground", **change}
    answer = visitor.submit(f"/c/{id}/metal", fields)
    assert answer.status_code == 422
    assert words in answer.text
    assert len(desk.candidate(id).entries) == count


@pytest.mark.parametrize("body", bodies())
def test_every_zone_of_a_drawn_plan_is_on_a_plate_of_some_layer(body: str) -> None:
    plan = load_plan(body, load_tables())
    rows = {zone.id: zone_row(zone, [0.2, 0.2, 0.2, 0.2, 0.1, 0.1], False) for zone in plan.zones}
    shown = {zone for layer in layers_of(body) for plate in plates(body, layer, rows, None) for zone in plate.zones}
    assert set(plan.index) <= shown


def test_what_this_vehicle_does_not_have_is_drawn_and_cannot_be_tapped() -> None:
    """A van without the sliding door of its plan's option."""
    plan = load_plan("van", load_tables())
    rows = {zone.id: zone_row(zone, [0.2, 0.2, 0.2, 0.2, 0.1, 0.1], False) for zone in plan.zones}
    drawn = [plate.drawn for layer in layers_of("van") for plate in plates("van", layer, rows, None)]
    assert any(zone.startswith("mv.slide.") for view in views("van") for zone in view.zones)
    assert set(re.findall('data-zone="([^"]+)"', "".join(drawn))) == set(plan.index)


@pytest.mark.parametrize("body", bodies())
def test_a_plate_keeps_the_content_security_policy(body: str) -> None:
    """No style element or attribute: the policy lets neither through."""
    plan = load_plan(body, load_tables())
    rows = {zone.id: zone_row(zone, [0.1, 0.1, 0.1, 0.5, 0.1, 0.1], False) for zone in plan.zones}
    for layer in layers_of(body):
        for plate in plates(body, layer, rows, plan.zones[0].id):
            assert "<style" not in plate.drawn and ' style="' not in plate.drawn


def test_the_money_page_names_the_ceiling_what_binds_and_other_terms(visitor: Visitor, desk: Desk, id: str) -> None:
    page = visitor.page(f"/c/{id}/money")
    assert "ceiling 22,3" in page and "this sets the ceiling" in page
    for words in ("What binds", "How it adds up", "without the paint", "What may have to be done"):
        assert words in page


def test_the_money_page_says_what_is_doubtful_about_what_it_rests_on(visitor: Visitor, desk: Desk, id: str) -> None:
    sentinel = next(remark for remark in desk.weighing(id).remarks if remark.code == "unseen-structure")
    desk.add_picture(id, (PICTURES / "rust_phone_41.jpg").read_bytes(), "rail.jpg", desk.people.owner().id)
    page = visitor.page(f"/c/{id}/money")
    assert sentinel.text[1:] in page
    assert "1 picture is on no zone and named by no finding, so not weighed: rail.jpg; put each on the zones" in page


def test_prices_in_the_wrong_order_are_told_beside_the_field_and_kept(visitor: Visitor, id: str) -> None:
    answer = visitor.submit(f"/c/{id}/money/resale", {"low": "30,000", "likely": "20,000", "high": "40,000"})
    assert answer.status_code == 422
    assert "out of order" in answer.text and 'value="30,000"' in answer.text


def test_without_a_view_of_the_resale_the_money_page_says_what_it_needs(visitor: Visitor, desk: Desk) -> None:
    bare = desk.open_candidate("Bare", "coupe", desk.people.owner().id)
    page = visitor.page(f"/c/{bare}/money")
    assert "resale" in page
    assert "What may have to be done" in page, "what mending costs is told before the resale is known"
    billed = re.search(r'<tfoot>.*?<td class="m num">([\d,]+)</td>', page, re.DOTALL)
    assert billed is not None
    assert "Give the resale" in visitor.page(f"/c/{bare}/asks")
    assert visitor.submit(f"/c/{bare}/money/resale", {"low": "20000", "likely": "26000", "high": "33000"}).status_code == 303
    page = visitor.page(f"/c/{bare}/money")
    assert "What it may be worth to buy" in page
    assert f'<td class="m num">{billed[1]}</td></tr></tfoot>' in page, "the bill is the same with a resale beside it"


def test_what_asks_are_worth_together_adds_up_as_shown(visitor: Visitor, id: str) -> None:
    proposed = visitor.page(f"/c/{id}/asks")
    keys = re.findall(r'name="ask" value="([^"]+)" checked', proposed)
    assert len(keys) > 1

    def number(text: str) -> int:
        return int(text.replace("−", "-").replace(",", "").replace("+", ""))

    for page in (proposed, visitor.page(f"/c/{id}/asks?ask={keys[0]}")):
        shown = page.split('id="chosen"')[1]
        total = number(re.findall(r'<p class="at"><b class="num">([^<]+)</b>', shown)[0])
        parts = [number(x) for x in re.findall(r"<dd>([^<]+)</dd>", shown.split("</dl>")[0])]
        # each line is rounded to 10 by itself
        assert abs(total - sum(parts)) <= 20


def test_chosen_asks_have_one_worth_and_one_message(visitor: Visitor, id: str) -> None:
    page = visitor.page(f"/c/{id}/asks")
    keys = re.findall(r'name="ask" value="(picture:[^"]+)" checked', page)
    assert len(keys) >= 2
    one = visitor.page(f"/c/{id}/asks?ask={keys[0]}")
    assert "<h2>1 chosen</h2>" in one and "Message to the seller" in one
    assert "Tick what you want to ask for." in visitor.page(f"/c/{id}/asks?none=1")


def test_what_was_asked_for_can_come_or_be_refused(visitor: Visitor, desk: Desk, id: str) -> None:
    keys = re.findall(r'name="ask" value="(picture:[^"]+)" checked', visitor.page(f"/c/{id}/asks"))[:2]
    assert visitor.submit(f"/c/{id}/asks/sent", {"ask": keys, "text": "Please."}).status_code == 303
    assert "It came" in visitor.page(f"/c/{id}/asks")
    visitor.submit(f"/c/{id}/asks/arrived", {"ask": keys[0]})
    visitor.submit(f"/c/{id}/asks/refused", {"ask": keys[1]})
    assert dict(desk.candidate(id).sent) == {keys[0]: "arrived", keys[1]: "refused"}


def test_a_picture_is_taken_in_once_shown_without_what_the_camera_wrote_and_put_on_a_zone(
    visitor: Visitor, desk: Desk, id: str
) -> None:
    data = jpeg()
    for _ in range(2):
        files = {"files": ("one.jpg", data, "image/jpeg")}
        assert visitor.submit(f"/c/{id}/pictures", files=files).status_code == 303
    (picture,) = desk.candidate(id).pictures
    assert desk.pictures.get(picture.sha256) == data
    shown = visitor.get(f"/c/{id}/pictures/{picture.sha256}/large.jpg")
    assert shown.headers["content-type"] == "image/jpeg"
    assert not Image.open(io.BytesIO(shown.content)).getexif()
    visitor.submit(f"/c/{id}/pictures/zones", {"picture": picture.sha256, "zones": ["ot.hood", "ot.tailgate"]})
    assert desk.candidate(id).pictures[0].zones == ("ot.hood", "ot.tailgate")
    assert "Quality" in visitor.page(f"/c/{id}/pictures/{picture.sha256}")


def test_a_file_that_is_no_picture_is_named_and_the_others_go_on(visitor: Visitor, desk: Desk, id: str) -> None:
    files = [("files", ("good.jpg", jpeg(90), "image/jpeg")), ("files", ("notes.jpg", b"not a picture at all", "image/jpeg"))]
    answer = visitor.submit(f"/c/{id}/pictures", files=files)
    assert answer.status_code == 200 and "notes.jpg" in answer.text
    assert len(desk.candidate(id).pictures) == 1


def test_a_picture_of_another_candidate_is_not_shown(visitor: Visitor, desk: Desk, id: str) -> None:
    assert visitor.get(f"/c/{id}/pictures/{'0' * 64}/large.jpg").status_code == 404
    assert visitor.get(f"/c/{id}/pictures/{'0' * 64}").status_code == 404


def test_the_diary_takes_back_undoes_and_shows_what_stood(visitor: Visitor, desk: Desk, id: str, clock: StoppedClock) -> None:
    visitor.submit(f"/c/{id}/diary/note", {"text": "rang the seller"})
    assert "rang the seller" in visitor.page(f"/c/{id}/diary")
    visitor.submit(f"/c/{id}/diary/undo")
    assert "taken back" in visitor.page(f"/c/{id}/diary")
    hole = {"zone": "ot.frame.rear_cm", "sign": "hole", "source": "own-lift"}
    before = desk.candidate(id).revision
    visitor.submit(f"/c/{id}/metal", hole)
    assert f"As it stood at record {before}" in visitor.page(f"/c/{id}/diary/then/{before}")
    assert (
        desk.metal(id, before).belief.of("ot.frame.rear_cm")["holed"]
        < 0.2
        < desk.metal(id).belief.of("ot.frame.rear_cm")["holed"]
    )


def test_a_snapshot_comes_out_the_same_when_it_is_worked_out_anew(visitor: Visitor, desk: Desk, id: str) -> None:
    visitor.submit(f"/c/{id}/money/snapshot", {"label": "before the bid"})
    (kept,) = desk.snapshots(id)
    assert "every figure comes out the same" in visitor.page(f"/c/{id}/diary?again={kept.seq}")


def test_the_report_is_a_pdf_that_names_the_vehicle(visitor: Visitor, id: str, tmp_path: Path) -> None:
    answer = visitor.get(f"/c/{id}/report.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert "Ostrel Forager" in PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()


@pytest.mark.parametrize("page", ["metal", "metal/ot.hood", "pictures", "asks", "money", "diary", "report.pdf"])
def test_a_candidate_that_is_not_there_is_a_plain_page(visitor: Visitor, page: str) -> None:
    answer = visitor.get(f"/c/{'f' * 32}/{page}", headers={"accept": "text/html"})
    assert answer.status_code == 404
    assert "Traceback" not in answer.text


@pytest.mark.parametrize("address", ["money/prise", "asks/refussed", "diary/archiv"])
def test_what_is_posted_to_an_address_that_is_not_there_records_nothing(
    visitor: Visitor, desk: Desk, id: str, address: str
) -> None:
    before = desk.candidate(id).last
    answer = visitor.submit(f"/c/{id}/{address}", {"ask": "picture:ot.hood", "low": "1"})
    assert (answer.status_code, desk.candidate(id).last) == (404, before)


def test_the_bench_and_the_candidate_name_the_same_break_even(visitor: Visitor, desk: Desk, id: str) -> None:
    desk.weighing(id)
    at = re.search(r'breaks even <span class="num">at ([\d,]+ to [\d,]+)</span>', visitor.page(f"/c/{id}/money"))
    assert at is not None and f"breaks even at {at.group(1)}" in visitor.page("/")


def test_marks_of_the_price_curve_stand_apart_where_most_of_it_is_a_loss(visitor: Visitor, desk: Desk) -> None:
    owner = desk.people.owner().id
    dear = desk.open_candidate("Old Harrow", "pickup", owner, model_year=1964)
    desk.record(dear, "resale", {"low": 9000, "likely": 11000, "high": 14000}, owner)
    page = visitor.page(f"/c/{dear}/money")
    assert "nothing pays" in page
    marks = [float(x) for x in re.findall(r'<path class="tick" d="M(-?[\d.]+) 260v7"/>', page)]
    assert len(marks) >= 3
    assert min(b - a for a, b in pairwise(marks)) > 140, "figures beneath the marks do not run together"


def test_the_price_of_an_advertisement_can_be_changed_to_a_range_and_back(visitor: Visitor, desk: Desk) -> None:
    owner = desk.people.owner().id
    found = desk.open_candidate("Old Harrow", "pickup", owner, model_year=1964)
    desk.record(found, "sale", {"kind": "asked", "price": 6900, "seller_place": "Grand Junction, CO"}, owner)
    assert visitor.submit(f"/c/{found}/money/price", {"price_low": "6,000", "price_high": "7,500"}).status_code == 303
    sale = desk.candidate(found).dossier.sale
    assert sale is not None and (sale.price_low, sale.price_high, sale.seller_place) == (6000, 7500, "Grand Junction, CO")
    assert visitor.submit(f"/c/{found}/money/price", {"price_low": "6,400"}).status_code == 303
    sale = desk.candidate(found).dossier.sale
    assert sale is not None and sale.price_low == sale.price_high == 6400
    answer = visitor.submit(f"/c/{found}/money/price", {"price_low": "8,000", "price_high": "7,000"})
    assert answer.status_code == 422 and "swap them" in answer.text


def test_a_candidate_with_many_pictures_opens_before_the_machine_has_looked_at_them_and_says_so(
    visitor: Visitor, desk: Desk, id: str
) -> None:
    for shade in range(60, 60 + AT_ONCE + 1):
        desk.add_picture(id, jpeg(shade), f"{shade}.jpg", desk.people.owner().id)
    words = f"{AT_ONCE + 1} pictures are still to be looked at by the machine"
    for page in ("metal", "pictures", "asks", "money", "diary"):
        assert f"<br>{words}" in visitor.page(f"/c/{id}/{page}"), page
    desk.snapshot(id, "before the bid", desk.people.owner().id)
    desk.refresh()
    assert words not in visitor.page(f"/c/{id}/metal")
    assert f"before the machine had looked at {AT_ONCE + 1} pictures" in visitor.page(f"/c/{id}/diary")
