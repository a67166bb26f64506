"""A walk while it is walked: what is found comes in once, with its time, and overwrites nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from walked import SENT, thing, walk_of

from weldworth.core.errors import BadInput, NotFound
from weldworth.workbench.desk import Desk
from weldworth.workbench.walking import Thing, begin_walk, end_walk, take_down, taken_down, walk_in, walks_in

Walked = tuple[Desk, str, str, str]
CORNER = "pu.corner.outer.l"


@pytest.fixture
def walked(tmp_path: Path) -> Walked:
    """A desk, a candidate, a walk of it and the one who walks."""
    return walk_of(tmp_path)


def kept(walked: Walked) -> list[dict[str, object]]:
    desk, id, walk, _ = walked
    return [{"is": entry.kind, **entry.body} for entry in taken_down(desk.candidate(id), walk)]


def test_a_walk_keeps_the_way_it_was_begun_with(walked: Walked) -> None:
    desk, id, walk, by = walked
    begun = walk_in(desk.candidate(id), walk)
    desk.record(id, "finding", {"zone": begun.stops[0].zones[0], "sign": "hole", "source": "own-ground"}, by)
    again = walk_in(desk.candidate(id), walk)
    assert again == begun and again.minutes == 15 and again.source == "own-ground" and again.ended is None


def test_what_is_sent_twice_is_recorded_once(walked: Walked) -> None:
    desk, id, walk, by = walked
    one, two = thing("finding", zone=CORNER, sign="filler"), thing("note", zone=CORNER, text="soft edge")
    first = [take_down(desk, id, walk, each, by) for each in (one, two)]
    second = [take_down(desk, id, walk, each, by) for each in (one, two)]
    assert first == second and [body["is"] for body in kept(walked)] == ["finding", "note"]


def test_things_carry_the_walk_its_source_and_the_time_at_which_they_were_taken(walked: Walked) -> None:
    desk, id, walk, by = walked
    yesterday = replace(thing("finding", zone=CORNER, sign="filler", absent=True), made_at=SENT - timedelta(days=1))
    take_down(desk, id, walk, yesterday, by)
    body = kept(walked)[0]
    assert body["source"] == "own-ground" and body["absent"] is True and body["walk"] == walk
    assert body["taken_at"] == "2026-11-24T15:28:00+00:00" and body["seen_on"] == "2026-11-24"
    finding = desk.candidate(id).dossier.records[-1]
    assert (finding.zone, finding.sign, finding.absent) == (CORNER, "filler", True)  # type: ignore[union-attr]


def test_nobody_walks_as_somebody_else_or_at_another_time(walked: Walked) -> None:
    desk, id, walk, by = walked
    forged = thing("finding", zone=CORNER, sign="filler", source="stripped", seen_on="1999-01-01", walk="0" * 32, taken_at="x")
    take_down(desk, id, walk, forged, by)
    body = kept(walked)[0]
    assert (body["source"], body["seen_on"], body["walk"]) == ("own-ground", "2026-11-25", walk)


def test_a_reading_comes_with_its_unit(walked: Walked) -> None:
    desk, id, walk, by = walked
    take_down(desk, id, walk, thing("reading", zone=CORNER, reading="coating", value=310, unit="um"), by)
    take_down(desk, id, walk, thing("reading", zone="pu.gap.l", reading="door-gap", value=-0.25, unit="in"), by)
    read = [(one.kind, one.value, one.unit) for one in desk.candidate(id).dossier.records]  # type: ignore[union-attr]
    assert read == [("coating", 310, "um"), ("door-gap", -0.25, "in")]


def test_at_a_door_gap_a_picture_is_kept_with_its_place_and_a_refusal_is_a_note(walked: Walked) -> None:
    desk, id, walk, by = walked
    place = next(place for stop in walk_in(desk.candidate(id), walk).stops for place in stop.places)
    taken = replace(thing("picture", zone=place), sha256=desk.pictures.put(b"a picture"), name="gap.jpg")
    for each in (taken, thing("skip", zone=place, reason="not-wanted")):
        assert take_down(desk, id, walk, each, by).state == "taken"
    picture, refused = kept(walked)
    assert picture["is"] == "picture" and not picture.get("zones") and "gap" in str(picture["note"])
    assert (refused["is"], refused["text"]) == ("note", "Not looked at: the owner would rather not.")


def test_what_is_passed_by_is_noted_and_what_the_owner_would_not_show_is_evidence(walked: Walked) -> None:
    desk, id, walk, by = walked
    take_down(desk, id, walk, thing("skip", zone="pu.tank", reason="not-reachable"), by)
    take_down(desk, id, walk, thing("skip", zone="pu.battery", reason="not-wanted"), by)
    noted, refused = kept(walked)
    assert (noted["is"], noted["text"]) == ("note", "Not looked at: cannot be reached.")
    assert (refused["is"], refused["sign"]) == ("finding", "not-shown")


def test_taking_back_takes_back_once_and_only_what_has_come(walked: Walked) -> None:
    desk, id, walk, by = walked
    item = thing("finding", zone=CORNER, sign="filler")
    with pytest.raises(BadInput, match="has not come"):
        take_down(desk, id, walk, thing("undo", of=item.id), by)
    for each in (item, thing("undo", of=item.id), thing("undo", of=item.id)):
        take_down(desk, id, walk, each, by)
    assert kept(walked) == []
    assert sum(entry.kind == "withdrawn" for entry in desk.candidate(id).entries) == 1


def test_what_was_corrected_at_the_desk_meanwhile_is_not_taken_back(walked: Walked) -> None:
    desk, id, walk, by = walked
    item = thing("finding", zone=CORNER, sign="filler")
    seq = take_down(desk, id, walk, item, by).entry
    assert seq is not None
    desk.correct(id, seq, {"zone": CORNER, "sign": "patch", "source": "own-ground"}, by)
    with pytest.raises(BadInput, match="the correction stands"):
        take_down(desk, id, walk, thing("undo", of=item.id), by)


def test_what_others_recorded_meanwhile_is_told_and_both_are_kept(walked: Walked) -> None:
    desk, id, walk, by = walked
    other = desk.people.add("R. Quillan", "partner").id
    desk.record(id, "finding", {"zone": CORNER, "sign": "filler", "absent": True, "source": "asked-picture"}, other)
    words = str(take_down(desk, id, walk, thing("finding", zone=CORNER, sign="filler"), by).reply["words"])
    assert "R. Quillan" in words and "Both are kept" in words
    assert sum(getattr(one, "sign", "") == "filler" for one in desk.candidate(id).dossier.records) == 2


def test_ones_own_second_look_is_no_conflict(walked: Walked) -> None:
    desk, id, walk, by = walked
    looks = [thing("finding", zone=CORNER, sign="filler", absent=absent) for absent in (True, False)]
    assert [take_down(desk, id, walk, look, by).reply["words"] for look in looks] == ["", ""]


@pytest.mark.parametrize(
    ("item", "words"),
    [
        (thing("finding", zone="pu.corner.oter.l", sign="filler"), "nearest: 'pu.corner.outer.l'"),
        (thing("finding", zone=CORNER, sign="fillr"), "nearest: 'filler'"),
        (thing("finding", zone=[1], sign="filler"), "zone"),
        (thing("reading", zone=CORNER, reading="coating", value=-4, unit="um"), "at least 0"),
        (thing("reading", zone=CORNER, reading="coating", value=4, unit="cm"), "mm"),
        (thing("skip", zone="pu.tank", reason="tired"), "reason 'tired'"),
        (thing("sing", zone="pu.tank"), "kind 'sing'"),
        (thing("note", zone="pu.tank", text=""), "write something"),
    ],
)
def test_what_cannot_be_used_is_refused_with_its_reason(walked: Walked, item: Thing, words: str) -> None:
    desk, id, walk, by = walked
    with pytest.raises(BadInput) as refused:
        take_down(desk, id, walk, item, by)
    assert words in str(refused.value) and kept(walked) == []


def test_no_walk_and_no_minutes_are_refused(walked: Walked) -> None:
    desk, id, _, by = walked
    with pytest.raises(NotFound):
        take_down(desk, id, "0" * 32, thing("note", text="x"), by)
    with pytest.raises(BadInput, match="nearest: 'own-ground'"):
        begin_walk(desk, id, "own-grund", 40, by)
    with pytest.raises(BadInput, match="minutes is 3; give 5 to 240"):
        begin_walk(desk, id, "own-ground", 3, by)


def test_a_walk_ends_once(walked: Walked) -> None:
    desk, id, walk, by = walked
    assert end_walk(desk, id, walk, by).seq == end_walk(desk, id, walk, by).seq
    assert walks_in(desk.candidate(id))[0].ended is not None


@pytest.mark.parametrize("kind", ["walk", "memo"])
def test_nobody_records_a_walk_by_hand(walked: Walked, kind: str) -> None:
    desk, id, _, by = walked
    with pytest.raises(BadInput, match="the desk makes it by itself"):
        desk.record(id, kind, {"state": "begun"}, by)


def test_a_stamp_that_is_none_is_refused(walked: Walked) -> None:
    desk, id, _, by = walked
    for key, value in (("walk", "x"), ("mark", "A" * 32), ("taken_at", "2026-11-25")):
        with pytest.raises(BadInput) as refused:
            desk.record(id, "note", {"text": "x", key: value}, by)
        assert refused.value.problems[0].where == key
