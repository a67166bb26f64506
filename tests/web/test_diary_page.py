"""The diary in words, and any moment of it beside now."""

from __future__ import annotations

import re
from html import unescape

import pytest
from visiting import Visitor

from weldworth.vehicle.plans import load_plan
from weldworth.workbench.desk import Desk


@pytest.fixture
def id(visitor: Visitor, desk: Desk) -> str:
    owner = desk.people.owner().id
    found = desk.open_candidate("Ostrel 60", "pickup", owner, model_year=1964)
    desk.record(found, "resale", {"low": 14000, "likely": 17000, "high": 21000}, owner)
    desk.record(found, "finding", {"zone": "pu.frame.tail", "sign": "scale", "source": "own-lift"}, owner)
    desk.record(found, "answer", {"question": "mats", "answer": "refused"}, owner)
    desk.record(found, "ask-refused", {"kind": "picture", "zone": "pu.bed.floor"}, owner)
    desk.record(found, "comparables", {"text": "price\n15000\n16000\n17000\n"}, owner)
    return found


def test_an_entry_says_zones_questions_and_sources_in_words(visitor: Visitor, desk: Desk, id: str) -> None:
    plan = load_plan("pickup", desk.tables())
    page = unescape(visitor.page(f"/c/{id}/diary"))
    shown = page.partition("Everything recorded")[2].partition("</section>")[0]
    for zone in ("pu.frame.tail", "pu.bed.floor"):
        assert plan.zone(zone).label in shown
    assert "3 comparable sales" in shown and "Resale: low 14,000, likely 17,000, high 21,000" in shown
    words = re.sub(r"<[^>]*>", " ", shown)
    assert not re.findall(r"\bpu\.[a-z]", words), "no zone is called by its id"


def test_a_label_of_a_body_without_a_plan_any_more_is_the_zone_as_written(desk: Desk) -> None:
    from weldworth.workbench.diary_words import words_of

    assert words_of("wagon", desk.tables()).zone("wg.floor") == "wg.floor"


def test_what_was_taken_back_is_named(visitor: Visitor, desk: Desk, id: str) -> None:
    seq = next(entry.seq for entry in desk.candidate(id).entries if entry.kind == "finding")
    visitor.submit(f"/c/{id}/diary/withdraw", {"seq": str(seq)})
    about = desk.diary(id)[-1].about
    assert about.startswith("Taken back: ") and "scale" in about


def test_any_moment_stands_beside_now_with_the_zones_that_moved(visitor: Visitor, desk: Desk, id: str) -> None:
    entries = desk.candidate(id).entries
    found = next(entry.seq for entry in entries if entry.kind == "finding")
    page = visitor.page(f"/c/{id}/diary/then/{found - 1}")
    assert f"As it stood at record {found - 1}" in page
    tail = load_plan("pickup", desk.tables()).zone("pu.frame.tail").label
    moved = page.partition("what moved furthest first")[2]
    assert tail in moved and "+" in moved
    was, now = desk.metal(id, found - 1), desk.metal(id)
    at = now.plan.index["pu.frame.tail"]
    bad = [round(100 * float(one.belief.zones[at, [2, 3, 5]].sum())) for one in (was, now)]
    row = moved.partition(tail)[2].partition("</tr>")[0]
    assert [int(figure) for figure in re.findall(r'data-word="(?:then|now)">(\d+)<', row)] == bad
    since = page.partition("Recorded since")[2]
    assert since.count("<li") == entries[-1].seq - found + 1
    assert "No zone moved" in visitor.page(f"/c/{id}/diary/then/{entries[-1].seq}")


def test_the_drawing_of_then_shows_what_was_believed_then_and_takes_no_findings(visitor: Visitor, desk: Desk, id: str) -> None:
    page = visitor.page(f"/c/{id}/metal?at=1")
    assert "As it stood at record 1" in page
    assert "Record a finding" not in page
    assert "Record a finding" in visitor.page(f"/c/{id}/metal")
    assert "Record a finding" not in visitor.page(f"/c/{id}/metal/pu.frame.tail?at=1")
    assert visitor.page(f"/c/{id}/metal?at=99", 200)
    assert visitor.page(f"/c/{id}/diary/then/0", 404)


def test_what_one_phrase_says_of_many_zones_is_one_line_and_goes_back_as_one(visitor: Visitor, desk: Desk, id: str) -> None:
    owner = desk.people.owner().id
    zones = [zone.id for zone in load_plan("pickup", desk.tables()).zones[:6]]
    said = [("finding", {"zone": zone, "sign": "hole", "absent": True, "source": "seller-word"}) for zone in zones]
    before = len(desk.candidate(id).standing)
    for kind, body in said:
        desk.record(id, kind, body, owner)
    page = unescape(visitor.page(f"/c/{id}/diary"))
    assert page.count("6 zones: no hole") >= 1
    seqs = re.search(r'name="seq" value="([0-9-]+)" aria-label="Take back: 6 zones', page)
    assert seqs is not None
    visitor.submit(f"/c/{id}/diary/withdraw", {"seq": seqs[1]})
    standing = desk.candidate(id).standing
    assert not [entry for entry in standing if entry.body.get("source") == "seller-word"]
    assert len([entry for entry in standing if entry.kind != "withdrawn"]) == before
