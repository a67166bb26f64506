"""Taking candidates in and out of a desk, and its bench."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from days import TAIL, finding
from desks import DEMO, TABLES, desk_on

from weldworth.bootstrap import looked_at
from weldworth.core.errors import BadInput
from weldworth.store.folder import read_dossier
from weldworth.store.sqlite import SqliteStore
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import seal
from weldworth.workbench.ports import CandidateRow, Summary
from weldworth.workbench.summary import differing, whole_figures
from weldworth.workbench.weigh import weigh


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
