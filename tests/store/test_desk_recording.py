"""Recording at a desk: what is refused, corrected, taken back, and two people at once."""

from __future__ import annotations

import pytest
from days import HORN, TAIL, fields, finding

from weldworth.core.errors import BadInput, Conflict, NotFound
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Changed


@pytest.mark.parametrize(
    ("kind", "body", "wrong"),
    [
        (
            "finding",
            {"zone": "pu.frame.tale", "sign": "rusty", "source": "me", "quality": 3},
            {"zone", "sign", "source", "quality"},
        ),
        ("finding", {"sign": "hole", "source": "video", "region": [1, 2, 3, 4]}, {"zone", "region"}),
        ("finding", {"zone": TAIL, "sign": "hole", "source": "video", "colour": "red"}, {"colour"}),
        ("finding", {"zone": TAIL, "sign": "hole", "source": "video", "seen_on": "2031-01-01"}, {"seen_on"}),
        ("finding", {"zone": TAIL, "sign": "hole", "source": "video", "outline": [[1, 2]]}, {"outline"}),
        ("reading", {"zone": TAIL, "kind": "wall", "value": -1, "unit": "furlong", "source": "video"}, {"value", "unit"}),
        ("answer", {"question": "fule"}, {"question", "answer"}),
        ("residence", {"place": "Nowhere, ZZ", "from": "soon", "storage": "attic"}, {"place", "from", "storage"}),
        ("residence", {"from": 1990, "to": 1980}, {"to"}),
        ("vehicle", {"model_year": 1492, "odometer": -5, "odometer_unit": "parsec"}, {"model_year", "odometer", "odometer_unit"}),
        ("vehicle", {"name": None, "body": "spaceship"}, {"name", "body"}),
        ("sale", {"price": 5, "price_low": 3, "closes": "tomorrow"}, {"kind", "price", "closes"}),
        ("resale", {"low": 3, "likely": 2, "high": 1}, {"low"}),
        ("shop", {"labour_rate": "much", "margn": 0.2}, {"labour_rate", "margn"}),
        ("comparables", {"text": "date,price\n2020,x"}, {"text"}),
        ("picture", {"sha256": "x", "name": "a.jpg", "zones": ["nowhere"]}, {"sha256", "zones"}),
        ("note", {"text": " "}, {"text"}),
        ("stage", {"stage": "dreaming"}, {"stage"}),
        ("ask-sent", {"asks": ["hello"]}, {"asks"}),
        ("ask-refused", {"kind": "question", "zone": "fule"}, {"zone"}),
        ("archived", {}, {"archived"}),
        ("musing", {}, {"kind"}),
        ("snapshot", {}, {"kind"}),
    ],
)
def test_what_cannot_be_recorded_is_refused_with_a_word_at_each_field(
    kind: str, body: dict[str, object], wrong: set[str], desk: Desk, pickup: str, ann: str
) -> None:
    before = desk.candidate(pickup).revision
    with pytest.raises(BadInput) as caught:
        desk.record(pickup, kind, body, ann)
    assert wrong <= fields(caught)
    assert fields(caught) - wrong <= {""}
    assert desk.candidate(pickup).revision == before


def test_several_are_recorded_all_or_none_and_each_problem_names_its_item(desk: Desk, pickup: str, ann: str) -> None:
    before = desk.candidate(pickup).revision
    with pytest.raises(BadInput) as caught:
        desk.record_all(pickup, [("note", {"text": "fine"}), ("finding", finding("nowhere")), ("stage", {"stage": "x"})], ann)
    assert fields(caught) == {"2: zone", "3: stage"}
    assert desk.candidate(pickup).revision == before
    assert len(desk.record_all(pickup, [("note", {"text": "a"}), ("note", {"text": "b"})], ann)) == 2


def test_a_refused_ask_is_evidence_asked_and_not_shown(desk: Desk, pickup: str, ann: str) -> None:
    desk.record(pickup, "ask-sent", {"asks": [f"picture:{TAIL}", "question:fuel"], "text": "please"}, ann)
    desk.record(pickup, "ask-refused", {"kind": "picture", "zone": TAIL}, ann)
    desk.record(pickup, "ask-refused", {"kind": "question", "zone": "fuel"}, ann)
    view = desk.candidate(pickup)
    assert view.dossier.asked_for == (TAIL, "fuel")
    assert view.sent == {f"picture:{TAIL}": "refused", "question:fuel": "refused"}


def test_who_changes_what_another_changed_meanwhile_is_told_by_whom_and_nothing_is_lost(
    desk: Desk, pickup: str, ann: str, ben: str
) -> None:
    page = desk.candidate(pickup).revision
    desk.record(pickup, "finding", finding(), ann, page)
    with pytest.raises(Changed, match="by Ann just now") as caught:
        desk.record(pickup, "finding", finding(absent=True), ben, page)
    assert [entry.by for entry in caught.value.entries] == [ann]
    desk.record(pickup, "finding", finding(absent=True), ben, desk.candidate(pickup).revision)


def test_changes_to_different_things_are_both_recorded_from_the_same_page(desk: Desk, pickup: str, ann: str, ben: str) -> None:
    page = desk.candidate(pickup).revision
    desk.record(pickup, "finding", finding(TAIL), ann, page)
    desk.record(pickup, "finding", finding(HORN), ben, page)
    desk.record(pickup, "sale", {"kind": "asked", "price": 5000}, ben, page)
    assert len(desk.candidate(pickup).dossier.records) == 2


def test_a_form_sent_twice_is_recorded_once(desk: Desk, pickup: str, ann: str) -> None:
    page = desk.candidate(pickup).revision
    assert desk.record(pickup, "finding", finding(), ann, page) == desk.record(pickup, "finding", finding(), ann, page)


def test_what_does_not_stand_any_more_cannot_be_corrected_or_taken_back_again(desk: Desk, pickup: str, ann: str) -> None:
    first = desk.record(pickup, "finding", finding(), ann)
    desk.correct(pickup, first.seq, finding(sign="scale"), ann)
    with pytest.raises(Conflict, match="was corrected by entry 4"):
        desk.correct(pickup, first.seq, finding(sign="hole"), ann)
    last = desk.withdraw(pickup, 4, ann)
    assert [r.sign for r in desk.candidate(pickup).dossier.records] == ["surface-rust"]  # type: ignore[union-attr]
    desk.withdraw(pickup, last.seq, ann)
    assert [r.sign for r in desk.candidate(pickup).dossier.records] == ["scale"]  # type: ignore[union-attr]
    with pytest.raises(NotFound):
        desk.withdraw(pickup, 99, ann)
    with pytest.raises(BadInput, match="archive"):
        desk.withdraw(pickup, 1, ann)


def test_undo_takes_back_ones_own_last_and_leaves_the_others(desk: Desk, pickup: str, ann: str, ben: str) -> None:
    desk.record(pickup, "finding", finding(TAIL), ann)
    desk.record(pickup, "finding", finding(HORN), ben)
    desk.undo_last(pickup, ann)
    assert [r.zone for r in desk.candidate(pickup).dossier.records] == [HORN]  # type: ignore[union-attr]
    desk.undo_last(pickup, ann)
    assert desk.candidate(pickup).dossier.resale is None
    with pytest.raises(NotFound, match="nothing of yours"):
        desk.undo_last(pickup, ann)


def test_undo_takes_back_all_that_one_action_made_and_nothing_of_the_action_before(desk: Desk, pickup: str, ann: str) -> None:
    desk.record(pickup, "finding", finding(TAIL), ann)
    desk.record_all(pickup, [("finding", finding(HORN)), ("note", {"text": "Both from one look."})], ann)
    gone = desk.undo_last(pickup, ann)
    assert [entry.kind for entry in gone] == ["withdrawn", "withdrawn"] and len({entry.at for entry in gone}) == 1
    assert [r.zone for r in desk.candidate(pickup).dossier.records] == [TAIL]  # type: ignore[union-attr]
    assert "note" not in [entry.kind for entry in desk.candidate(pickup).standing]


def test_several_are_taken_back_together_or_none(desk: Desk, pickup: str, ann: str) -> None:
    first = desk.record(pickup, "finding", finding(TAIL), ann)
    with pytest.raises(NotFound):
        desk.withdraw_all(pickup, [first.seq, 99], ann)
    assert [r.zone for r in desk.candidate(pickup).dossier.records] == [TAIL]  # type: ignore[union-attr]
