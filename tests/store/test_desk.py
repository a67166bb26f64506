"""A day at the desk: taking in, recording, two people at once, undo, snapshots, what if, and all of it out again."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from desks import DEMO, TABLES, desk_on

from weldworth.bootstrap import looked_at
from weldworth.core.errors import BadInput, Conflict, NotFound
from weldworth.store.folder import read_dossier
from weldworth.store.sqlite import SqliteStore
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Changed, seal
from weldworth.workbench.ports import CandidateRow, Summary
from weldworth.workbench.summary import differing, whole_figures
from weldworth.workbench.weigh import weigh

RESALE = {"low": 18000, "likely": 24000, "high": 30000}
TAIL, HORN = "pu.frame.tail", "pu.frame.horn.l"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return desk_on(SqliteStore(tmp_path / "weldworth.sqlite"), tmp_path)


@pytest.fixture
def ann(desk: Desk) -> str:
    return desk.people.add("Ann", "owner").id


@pytest.fixture
def ben(desk: Desk) -> str:
    return desk.people.add("Ben", "partner").id


@pytest.fixture
def pickup(desk: Desk, ann: str) -> str:
    id = desk.open_candidate("Tamarack hauler", "pickup", ann, model_year=1968)
    desk.record(id, "resale", RESALE, ann)
    return id


def finding(zone: str = TAIL, sign: str = "surface-rust", **more: object) -> dict[str, object]:
    return {"zone": zone, "sign": sign, "source": "asked-picture", **more}


def fields(caught: pytest.ExceptionInfo[BadInput]) -> set[str]:
    return {problem.where for problem in caught.value.problems}


# Taking in and out


@pytest.mark.parametrize("name", sorted(path.name for path in DEMO.iterdir() if path.is_dir()))
def test_a_dossier_taken_in_weighs_the_same_as_its_folder_and_so_does_what_is_written_out(
    name: str, desk: Desk, ann: str, tmp_path: Path
) -> None:
    today = desk.clock.today()
    read = looked_at(read_dossier(DEMO / name, TABLES, today=today), TABLES)
    plain = whole_figures(weigh(read, TABLES, today=today, asks=0))
    id = desk.import_dossier(DEMO / name, ann)
    assert differing(plain, whole_figures(desk.weighing(id))) == ()
    out = desk.export_dossier(id, tmp_path / "out")
    again = looked_at(read_dossier(out, TABLES, today=today), TABLES)
    assert differing(plain, whole_figures(weigh(again, TABLES, today=today, asks=0))) == ()
    assert [remark for remark in again.remarks if remark.code == "not-read"] == []


def test_pictures_corrections_and_texts_come_out_as_they_went_in(desk: Desk, ann: str, tmp_path: Path) -> None:
    folder = tmp_path / "in"
    (folder / "pictures" / "under").mkdir(parents=True)
    (folder / "pictures/under/a b.jpg").write_bytes(b"not looked into")
    (folder / "advert.txt").write_text("Solid \u201ctruck\u201d\n")
    (folder / "candidate.toml").write_text(
        '[vehicle]\nname = "T"\nbody = "pickup"\nbuilt = 1968-04-02\n[resale]\nlow = 1\nlikely = 2\nhigh = 3\n'
        f'[[finding]]\nid = "x"\nzone = "{TAIL}"\nsign = "hole"\nsource = "video"\npicture = "under/a b.jpg"\n'
        "region = [1, 2, 30, 40]\n"
        f'[[finding]]\nzone = "{TAIL}"\nsign = "scale"\nsource = "video"\nreplaces = "x"\nnote = "tab\\there \\"quoted\\""\n'
        '[sale]\nkind = "auction"\ncloses = 2026-12-05T18:00:00-06:00\n'
    )
    id = desk.import_dossier(folder, ann)
    view = desk.candidate(id)
    out = read_dossier(desk.export_dossier(id, tmp_path / "out"), TABLES, today=desk.clock.today())
    first = read_dossier(folder, TABLES, today=desk.clock.today())
    assert [entry.kind for entry in view.entries].count("finding") == 2
    assert [(r.sign, r.note) for r in view.dossier.records] == [("scale", 'tab\there "quoted"')]
    assert (out.vehicle, out.built, out.sale, out.advert) == (first.vehicle, first.built, first.sale, first.advert)
    assert (tmp_path / "out/pictures/under/a b.jpg").read_bytes() == b"not looked into"
    assert [record.sign for record in out.records] == ["scale"]


def test_nothing_is_written_over_what_lies_there(desk: Desk, pickup: str, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/letter.txt").write_text("keep me")
    with pytest.raises(BadInput, match="not empty"):
        desk.export_dossier(pickup, tmp_path / "mine")
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["letter.txt"]


def test_everything_goes_out_in_one_folder_without_a_single_password(desk: Desk, pickup: str, ann: str, tmp_path: Path) -> None:
    desk.people.set_password(ann, "secret-hash")
    desk.shop.change_terms({"margin": 0.3}, ann, note="lean year")
    out = desk.export_all(tmp_path / "all")
    names = {str(path.relative_to(out)) for path in out.rglob("*") if path.is_file()}
    assert {"shop/people.json", "shop/terms.json", "shop/tables.json"} < names
    assert any(name.endswith("/ledger.jsonl") for name in names)
    assert all(b"secret-hash" not in path.read_bytes() for path in out.rglob("*") if path.is_file())


def test_the_same_picture_twice_is_one_entry_and_a_taken_name_gets_a_number(desk: Desk, pickup: str, ann: str) -> None:
    first = desk.add_picture(pickup, b"one", "front.jpg", ann)
    assert desk.add_picture(pickup, b"one", "again.jpg", ann) == first
    desk.add_picture(pickup, b"two", "../front.jpg", ann, zones=[TAIL])
    shown = desk.candidate(pickup).pictures
    assert [(picture.name, picture.zones) for picture in shown] == [("front.jpg", ()), ("front-2.jpg", (TAIL,))]
    desk.record(pickup, "finding", finding(picture="front-2.jpg", outline=[[5, 6], [20, 8], [10, 30]]), ann)
    assert desk.candidate(pickup).dossier.records[0].region == (5, 6, 21, 31)  # type: ignore[union-attr]


# Recording


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


# Two people


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


# What it amounts to


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


# What was known


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


# The bench


def test_the_bench_puts_what_closes_first_on_top_and_what_is_decided_last(desk: Desk, ann: str) -> None:
    for name, closes, stage in (("Late", "2026-12-24", None), ("Soon", "2026-11-26", None), ("Done", "2026-11-25", "passed")):
        id = desk.open_candidate(name, "pickup", ann)
        desk.record(id, "sale", {"kind": "auction", "closes": closes}, ann)
        if stage:
            desk.record(id, "stage", {"stage": stage}, ann)
    desk.open_candidate("Open", "van", ann)
    assert [line.name for line in desk.candidates()] == ["Soon", "Late", "Open", "Done"]
    assert [line.name for line in desk.candidates(search="soo PICK")] == ["Soon"]
    assert [deadline.name for deadline in desk.deadlines()] == ["Soon", "Late"]
    with pytest.raises(BadInput, match="order"):
        desk.candidates(order="colour")


def test_what_is_archived_leaves_the_bench_and_can_come_back(desk: Desk, pickup: str, ann: str) -> None:
    desk.record(pickup, "archived", {"archived": True}, ann)
    assert desk.candidates() == []
    assert [line.id for line in desk.candidates(archived=True)] == [pickup]
    desk.record(pickup, "archived", {"archived": False}, ann)
    assert [line.id for line in desk.candidates()] == [pickup]


def test_in_quiet_moments_stale_figures_are_brought_up_to_date(desk: Desk, pickup: str, ann: str) -> None:
    desk.open_candidate("Bare", "van", ann)
    assert desk.refresh() == 2
    assert all(line.fresh for line in desk.candidates())
    assert desk.refresh() == 0


def test_the_feed_tells_what_was_recorded_since_with_names(desk: Desk, pickup: str, ann: str) -> None:
    seen = desk.last_change()
    desk.record(pickup, "note", {"text": "x"}, ann)
    feed = desk.changes(seen)
    assert [(line.kind, line.by_name, line.candidate) for line in feed.changes] == [("note", "Ann", pickup)]
    assert desk.changes(feed.last).changes == ()


@pytest.fixture
def full(tmp_path: Path) -> Iterator[Desk]:
    desk = desk_on(SqliteStore(tmp_path / "weldworth.sqlite"), tmp_path)
    owner = desk.people.owner().id
    body = {"ceiling": 9000.0, "because": "margin", "even": [5e3, 1e4, 2e4], "bill": [1.0, 2.0, 3.0], "best_net": 80.0}
    with desk.store.writing() as unit:
        for n in range(1000):
            entry = seal(f"{n:032x}", "opened", {"name": f"Number {n}", "body": "pickup"}, owner, desk.clock.now(), None)
            row = CandidateRow(
                entry.candidate,
                f"Number {n}",
                "pickup",
                price_high=9e3,
                closes="2026-12-01",
                revision=1,
                opened_at="",
                changed_at="",
            )
            unit.put_candidate(row)
            unit.append(entry)
            unit.put_summary(Summary(row.id, "k", "2026-11-25", {**body, "bill_mean": float(n), "resale": [1.0, 2.0, 3.0]}))
    yield desk
    desk.store.close()


def test_a_bench_of_a_thousand_is_there_whole(full: Desk) -> None:
    assert len(full.candidates(order="attention")) == 1000
