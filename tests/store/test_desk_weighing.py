"""What a candidate amounts to at a desk, and what was known when."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from days import TAIL, fields, finding
from desks import DEMO, TABLES

from weldworth.core.errors import BadInput, Conflict, NotFound
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.desk import Desk
from weldworth.workbench.summary import differing, whole_figures


def test_the_belief_of_an_earlier_moment_is_that_of_the_entries_until_then(desk: Desk, pickup: str, ann: str) -> None:
    before = desk.metal(pickup).belief.of(TAIL)
    revision = desk.candidate(pickup).revision
    desk.record(pickup, "finding", finding(sign="hole"), ann)
    assert desk.metal(pickup).belief.of(TAIL)["holed"] > before["holed"]
    assert desk.metal(pickup, revision).belief.of(TAIL) == before
    assert desk.candidate(pickup, revision).dossier.records == ()
    with pytest.raises(NotFound):
        desk.candidate(pickup, 0)


def test_a_note_does_not_make_the_desk_weigh_again_and_a_finding_does(desk: Desk, pickup: str, ann: str) -> None:
    first = desk.weighing(pickup)
    desk.record(pickup, "note", {"text": "called the seller"}, ann)
    assert desk.weighing(pickup) is first
    assert desk.line(pickup).fresh
    desk.record(pickup, "finding", finding(sign="hole"), ann)
    assert not desk.line(pickup).fresh
    assert desk.weighing(pickup) is not first
    assert desk.line(pickup).fresh


def test_a_candidate_without_a_resale_shows_its_metal_and_says_what_is_missing(desk: Desk, ann: str) -> None:
    id = desk.open_candidate("Bare", "van", ann)
    assert len(desk.metal(id).belief.zones) == len(load_plan("van", TABLES).zones)
    with pytest.raises(BadInput, match="resale"):
        desk.weighing(id)
    assert "resale" in desk.line(id).wanted
    assert desk.line(id).ceiling is None


def test_the_bench_judges_the_asks_that_no_page_waited_for_and_a_quiet_moment_the_best_together(desk: Desk, pickup: str) -> None:
    asking = desk.weighing(pickup).asking
    assert desk.line(pickup).best_net is None
    (line,) = desk.candidates()
    paying = [ask for ask in asking.ranking.asks if ask.net > 0]
    assert (line.best_net, line.best_ask) == ((paying[0].net, paying[0].label) if paying else (0.0, ""))
    assert line.together_net is None
    assert desk.refresh() == 1 and desk.refresh() == 0
    best, (line,) = desk.best_asks(pickup), desk.candidates()
    assert (line.together, line.together_net) == (len(best.asks), best.net)


def test_what_is_read_once_for_a_page_is_read_anew_for_the_next(desk: Desk, pickup: str, ann: str) -> None:
    with desk.store.reading_once():
        before = desk.candidate(pickup).revision
        with desk.store.reading_once(), desk.store.reading() as unit:
            unit.entries(pickup).clear()
        assert desk.candidate(pickup).revision == before
    assert desk.record(pickup, "note", {"text": "x"}, ann).seq == before + 1
    assert desk.candidate(pickup).revision == before + 1


def test_what_if_own_labour_is_cheaper_the_ceiling_does_not_fall(desk: Desk, pickup: str) -> None:
    now = desk.weighing(pickup).ceiling.amount
    own, dear, wrong = desk.what_if(pickup, [{"own_hours": 400, "own_rate": 10}, {"labour_rate": 250}, {"paint": "gold"}])
    assert own.body["ceiling"] >= now >= dear.body["ceiling"]  # type: ignore[operator]
    assert wrong.body == {} and wrong.problems


def test_asks_together_are_worth_no_more_than_knowing_everything_and_the_message_names_each(desk: Desk, ann: str) -> None:
    id = desk.import_dossier(DEMO / "ostrel-forager", ann)
    best = desk.best_asks(id)
    keys = [f"{ask.kind}:{ask.zone}" for ask in best.asks]
    joint = desk.joint_worth(id, keys)
    assert joint.worth == pytest.approx(best.worth[-1])
    assert 0 < joint.worth <= desk.weighing(id).ranking.perfect
    assert all(ask.text in desk.ask_message(id, keys) for ask in best.asks)
    with pytest.raises(BadInput, match="nearest"):
        desk.joint_worth(id, [keys[0] + "x"])


def test_the_shops_terms_hold_for_every_candidate_and_its_own_override_them(desk: Desk, pickup: str, ann: str) -> None:
    before = desk.weighing(pickup).ceiling.amount
    version = desk.shop.change_terms({"labour_rate": 200}, ann)
    dear = desk.weighing(pickup).ceiling.amount
    assert dear <= before
    desk.record(pickup, "shop", {"labour_rate": 40}, ann)
    assert desk.weighing(pickup).ceiling.amount >= dear
    with pytest.raises(BadInput) as caught:
        desk.shop.change_terms({"margn": 1}, ann)
    assert fields(caught) == {"margn"}
    with pytest.raises(Conflict):
        desk.shop.change_terms({"margin": 0.2}, ann, version=version.number - 1)


def test_a_table_of_the_shops_own_changes_the_version_and_a_broken_one_is_refused(desk: Desk, pickup: str, ann: str) -> None:
    shipped, text = desk.tables().version, desk.shop.table_text("attention.csv")
    desk.shop.change_table("attention.csv", text.replace("half_days,3", "half_days,5"), ann, note="slower here")
    assert desk.tables().version != shipped
    with pytest.raises(BadInput, match=r"attention\.csv line 3: value is 'soon'"):
        desk.shop.change_table("attention.csv", text.replace("half_days,3", "half_days,soon"), ann)
    with pytest.raises(NotFound, match="nearest"):
        desk.shop.change_table("atention.csv", text, ann)
    desk.shop.change_table("attention.csv", None, ann)
    assert desk.tables().version == shipped
    assert [version.note for version in desk.shop.versions_of_tables()] == ["slower here", ""]


def test_a_snapshot_worked_out_anew_after_everything_changed_gives_the_same_figures(desk: Desk, pickup: str, ann: str) -> None:
    desk.record(pickup, "residence", {"place": "Detroit, MI", "from": 1968, "storage": "outside"}, ann)
    taken = desk.snapshot(pickup, "what we knew when we bid", ann)
    desk.record(pickup, "finding", finding(sign="hole"), ann)
    desk.shop.change_terms({"labour_rate": 150}, ann)
    text = desk.shop.table_text("attention.csv")
    desk.shop.change_table("attention.csv", text.replace("half_days,3", "half_days,5"), ann)
    desk.clock.moment += timedelta(days=90)  # type: ignore[attr-defined]
    again = desk.recompute(pickup, taken.seq)
    assert (again.same, again.differs, again.because) == (True, (), "")
    assert differing(again.now, whole_figures(desk.weighing(pickup)))
    assert [snapshot.label for snapshot in desk.snapshots(pickup)] == ["what we knew when we bid"]


def test_tampering_with_an_entry_shows_in_the_chain_and_at_the_snapshot(
    desk: Desk, pickup: str, ann: str, tmp_path: Path
) -> None:
    desk.record(pickup, "finding", finding(sign="hole"), ann)
    taken = desk.snapshot(pickup, "bid", ann)
    assert desk.verify() == {}
    with closing(sqlite3.connect(tmp_path / "weldworth.sqlite")) as raw, raw:
        raw.execute("update entries set body = replace(body, 'hole', 'original-paint') where seq = 3")
    assert {problem.where for problem in desk.verify()[pickup]} == {"entry 3"}
    again = desk.recompute(pickup, taken.seq)
    assert not again.same and "hashes" in again.because
