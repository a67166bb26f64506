"""A walk while it is walked: what is found comes in once, in order, with its time, and overwrites nothing."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from walked import SENT, thing, walk_of

from weldworth.core.errors import BadInput, NotFound
from weldworth.workbench.desk import Desk
from weldworth.workbench.walking import begin_walk, end_walk, take_down, taken_down, walk_in, walks_in


@pytest.fixture
def walked(tmp_path: Path) -> tuple[Desk, str, str, str]:
    """A desk, a candidate, a walk of it and the one who walks."""
    return walk_of(tmp_path)


def test_a_walk_keeps_the_way_it_was_begun_with(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    begun = walk_in(desk.candidate(id), walk)
    desk.record(id, "finding", {"zone": begun.stops[0].zones[0], "sign": "hole", "source": "own-ground"}, by)
    again = walk_in(desk.candidate(id), walk)
    assert again == begun and again.minutes == 15 and again.source == "own-ground" and again.ended is None


def test_what_is_sent_twice_is_recorded_once(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    one, two = (
        thing("finding", zone="pu.corner.outer.l", sign="filler"),
        thing("note", zone="pu.corner.outer.l", text="soft edge"),
    )
    first = take_down(desk, id, walk, [one, two], by)
    second = take_down(desk, id, walk, [one, two], by)
    assert [told.state for told in (*first, *second)] == ["kept"] * 4
    assert [told.seq for told in first] == [told.seq for told in second]
    assert [entry.kind for entry in taken_down(desk.candidate(id), walk)] == ["finding", "note"]


def test_things_carry_the_walk_its_source_and_the_time_at_which_they_were_taken(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    take_down(desk, id, walk, [thing("finding", zone="pu.corner.outer.l", sign="filler", absent=True)], by)
    body = taken_down(desk.candidate(id), walk)[0].body
    assert body["source"] == "own-ground" and body["absent"] is True and body["walk"] == walk
    assert body["taken_at"] == SENT.isoformat() and body["seen_on"] == SENT.date().isoformat()
    finding = desk.candidate(id).dossier.records[-1]
    assert (finding.zone, finding.sign, finding.absent) == ("pu.corner.outer.l", "filler", True)  # type: ignore[union-attr]


def test_a_reading_comes_with_its_unit(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    item = thing("reading", zone="pu.corner.outer.l", reading="coating", value=310, unit="um")
    gap = thing("reading", zone="pu.gap.l", reading="door-gap", value=-0.25, unit="in")
    assert [told.state for told in take_down(desk, id, walk, [item, gap], by)] == ["kept", "kept"]
    read = [(one.kind, one.value, one.unit) for one in desk.candidate(id).dossier.records]  # type: ignore[union-attr]
    assert read == [("coating", 310, "um"), ("door-gap", -0.25, "in")]


def test_what_is_passed_by_is_noted_and_what_the_owner_would_not_show_is_evidence(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    skips = [thing("skip", zone="pu.tank", reason="not-reachable"), thing("skip", zone="pu.battery", reason="not-wanted")]
    take_down(desk, id, walk, skips, by)
    noted, refused = taken_down(desk.candidate(id), walk)
    assert (noted.kind, noted.body["text"]) == ("note", "Not looked at: cannot be reached.")
    assert (refused.kind, refused.body["sign"]) == ("finding", "not-shown")


def test_taking_back_takes_back_once_and_only_what_has_come(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    item = thing("finding", zone="pu.corner.outer.l", sign="filler")
    back = thing("undo", of=item["mark"])
    assert take_down(desk, id, walk, [back], by)[0].state == "refused"
    assert [told.state for told in take_down(desk, id, walk, [item, back, back], by)] == ["kept", "gone", "gone"]
    assert taken_down(desk.candidate(id), walk) == []
    assert sum(entry.kind == "withdrawn" for entry in desk.candidate(id).entries) == 1


def test_what_others_recorded_meanwhile_is_told_and_both_are_kept(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    other = desk.people.add("R. Quillan", "partner").id
    desk.record(id, "finding", {"zone": "pu.corner.outer.l", "sign": "filler", "absent": True, "source": "asked-picture"}, other)
    told = take_down(desk, id, walk, [thing("finding", zone="pu.corner.outer.l", sign="filler")], by)[0]
    assert told.state == "beside" and "R. Quillan" in told.words and "Both are kept" in told.words
    assert sum(getattr(one, "sign", "") == "filler" for one in desk.candidate(id).dossier.records) == 2


def test_ones_own_second_look_is_no_conflict(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    looks = [thing("finding", zone="pu.corner.outer.l", sign="filler", absent=absent) for absent in (True, False)]
    assert [told.state for told in take_down(desk, id, walk, looks, by)] == ["kept", "kept"]


@pytest.mark.parametrize(
    ("item", "words"),
    [
        (thing("finding", zone="pu.corner.oter.l", sign="filler"), "nearest: 'pu.corner.outer.l'"),
        (thing("finding", zone="pu.corner.outer.l", sign="fillr"), "nearest: 'filler'"),
        (thing("reading", zone="pu.corner.outer.l", reading="coating", value=-4, unit="um"), "at least 0"),
        (thing("reading", zone="pu.corner.outer.l", reading="coating", value=4, unit="cm"), "mm"),
        (thing("skip", zone="pu.tank", reason="tired"), "reason 'tired'"),
        (thing("sing", zone="pu.tank"), "kind 'sing'"),
        (thing("finding", zone="pu.tank", sign="hole", taken_at="noon"), "no moment"),
        ({"kind": "note", "text": "x"}, "no mark"),
        (thing("note", zone="pu.tank", text=""), "write something"),
    ],
)
def test_what_cannot_be_used_is_refused_alone_with_its_reason(
    walked: tuple[Desk, str, str, str], item: dict[str, object], words: str
) -> None:
    desk, id, walk, by = walked
    good = thing("finding", zone="pu.corner.outer.l", sign="filler")
    refused, kept = take_down(desk, id, walk, [item, good], by)
    assert refused.state == "refused" and words in refused.words and kept.state == "kept"
    assert len(taken_down(desk.candidate(id), walk)) == 1


def test_no_list_no_walk_and_no_minutes_are_refused(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    for items in ([], "things", None, [thing("note", text="x")] * 201):
        with pytest.raises(BadInput, match="give a list of 1 to 200"):
            take_down(desk, id, walk, items, by)  # type: ignore[arg-type]
    with pytest.raises(NotFound):
        take_down(desk, id, "0" * 32, [thing("note", text="x")], by)
    with pytest.raises(BadInput, match="nearest: 'own-ground'"):
        begin_walk(desk, id, "own-grund", 40, by)
    with pytest.raises(BadInput, match="minutes is 3; give 5 to 240"):
        begin_walk(desk, id, "own-ground", 3, by)


def test_a_clock_a_day_ahead_is_put_right(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    ahead = SENT + timedelta(days=1)
    item = thing("finding", zone="pu.corner.outer.l", sign="filler", taken_at=(ahead - timedelta(minutes=5)).isoformat())
    take_down(desk, id, walk, [item], by, ahead.isoformat())
    body = taken_down(desk.candidate(id), walk)[0].body
    assert body["taken_at"] == (SENT - timedelta(minutes=5)).isoformat()


def test_a_walk_ends_once(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, walk, by = walked
    assert end_walk(desk, id, walk, by).seq == end_walk(desk, id, walk, by).seq
    assert walks_in(desk.candidate(id))[0].ended is not None


@pytest.mark.parametrize("kind", ["walk", "memo"])
def test_nobody_records_a_walk_by_hand(walked: tuple[Desk, str, str, str], kind: str) -> None:
    desk, id, _, by = walked
    with pytest.raises(BadInput, match="the desk makes it by itself"):
        desk.record(id, kind, {"state": "begun"}, by)


def test_a_stamp_that_is_none_is_refused(walked: tuple[Desk, str, str, str]) -> None:
    desk, id, _, by = walked
    for key, value in (("walk", "x"), ("mark", "A" * 32), ("taken_at", "2026-11-25"), ("clock_off", "late")):
        with pytest.raises(BadInput) as refused:
            desk.record(id, "note", {"text": "x", key: value}, by)
        assert refused.value.problems[0].where == key
