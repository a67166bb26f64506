"""The tables that decide the bill: complete, without orphans, and never cheaper for worse metal."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from weldworth.bill import Book, default_terms, load_book
from weldworth.bill.layout import lay_out
from weldworth.bill.spread import Triple
from weldworth.core.errors import BadInput
from weldworth.tables.load import SHIPPED, load_tables
from weldworth.vehicle.plans import load_plan, plan_options

TABLES = load_tables()
BODIES = TABLES.plan_names()
BOOK = load_book("pickup", TABLES)

ELSEWHERE = {
    "rework": "a factor on the work of masked zones",
    "edge.join": "comes by edges.csv",
    "panel.paint": "comes by the panels of a repair",
    "panel.blend": "comes by the panels of a repair",
    "respray": "taken where it is cheaper than the panels",
    "under.coat": "follows other operations",
    "frame.swap": "a replacement",
    "bed.swap": "a replacement",
    "frame.blast": "a restorer's choice once the frame is bare; no condition of a zone asks for it",
    "quarter.full": "the lower quarter and the lip cost less to patch at every likely figure; for a crashed panel",
}


def used_operations() -> set[str]:
    rows = [r for zone in BOOK.repairs.values() for need in zone.values() for r in need]
    return {r.operation for r in rows} | {r.alternative for r in rows if r.alternative}


def test_every_operation_is_used_or_has_a_reason_not_to_be() -> None:
    assert used_operations() | set(ELSEWHERE) == set(BOOK.operations)
    assert not used_operations() & set(ELSEWHERE)


def test_every_replacement_names_a_known_operation_or_none() -> None:
    columns = ("body", "part", "name", "operation", "covers", "price_low", "price_likely", "price_high")
    hours = ("hours_low", "hours_likely", "hours_high", "setups", "panels", "caution")
    for row in TABLES.rows("replacements.csv", (*columns, *hours)):
        assert row.text("operation") in {"", *BOOK.operations}, row.where


@pytest.mark.parametrize("body", BODIES)
def test_every_zone_of_every_plan_is_priced_and_no_row_is_left_over(body: str) -> None:
    plan = load_plan(body, TABLES, options=list(plan_options(body, TABLES)))
    kinds = {zone.kind for zone in plan.zones}
    assert {kind for kind in BOOK.repairs if kind.startswith(plan.code + ".")} == kinds


def test_every_job_and_panel_is_used_by_a_zone() -> None:
    rows = [r for zone in BOOK.repairs.values() for need in zone.values() for r in need]
    assert {r.job for r in rows} == set(BOOK.jobs)
    for body in BODIES:
        code = load_plan(body, TABLES).code
        asked = {
            p for kind, zone in BOOK.repairs.items() if kind.startswith(code) for n in zone.values() for r in n for p in r.panels
        }
        assert asked == set(load_book(body, TABLES).panels), body


def test_every_replacement_covers_zones_of_its_body() -> None:
    for body in BODIES:
        kinds = {zone.kind for zone in load_plan(body, TABLES).zones}
        for part in load_book(body, TABLES).replacements:
            for pattern in part.covers:
                assert any(part.takes(kind) for kind in kinds), (body, pattern)


def test_a_part_that_may_carry_the_number_comes_with_a_caution() -> None:
    for body in BODIES:
        for part in load_book(body, TABLES).replacements:
            if part.part in {"frame", "chassis", "tub", "cab", "shell"}:
                assert "licensing authority" in part.caution


def figure(triple: Triple, quantity: float, z: float) -> float:
    return quantity * float(triple.at(np.array([z]))[0])


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("z", [-3.0, -1.3, 0.0, 1.3, 3.0])
def test_a_larger_operation_at_a_place_never_takes_less_work(body: str, z: float) -> None:
    plan = load_plan(body, TABLES, options=list(plan_options(body, TABLES)))
    layout = lay_out(plan, load_book(body, TABLES), default_terms(TABLES))
    for job in layout.jobs:
        for small, large in pairwise(job.levels):
            a, b = BOOK.operations[small.operation], BOOK.operations[large.operation]
            costs = [
                rate * figure(o.hours, q, z) + figure(o.material, q, z)
                for rate in (60, 175)
                for o, q in ((a, small.quantity), (b, large.quantity))
            ]
            assert costs[0] <= costs[1], (job.id, small.operation, large.operation)
            assert costs[2] <= costs[3], (job.id, small.operation, large.operation)


def test_worse_metal_never_needs_less_of_a_set_up() -> None:
    for zone, rows in BOOK.repairs.items():
        needs = [
            {code: max((r.setups.get(code, 0.0) for r in rows[c]), default=0.0) for code in BOOK.setups}
            for c in ("surface", "pitted", "holed")
        ]
        for better, worse in pairwise(needs):
            for code, share in better.items():
                larger = [s.code for s in BOOK.setups.values() if s.includes == code]
                assert worse[code] >= share or any(worse[c] >= share for c in larger), (zone, code)


def test_the_consumables_of_a_usual_job_match_their_list() -> None:
    # Common practice, no source: fourteen items from wire and gas to waste disposal, about 350 / 750 / 1,400 USD.
    rows = BOOK.consumables
    assert 300 <= np.interp(20, [h for h, _ in rows], [t.likely for _, t in rows]) <= 400
    assert (rows[2][1].likely, rows[3][1].likely) == (750, 1400)


def overlay(tmp_path: Path, name: str, old: str, new: str) -> Book:
    text = (SHIPPED / name).read_text(encoding="utf-8")
    assert old in text
    (tmp_path / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    return load_book("pickup", load_tables(tmp_path))


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("repairs.csv", "frame.treat", "frame.treet", "nearest: 'frame.treat'"),
        ("repairs.csv", ",surface,", ",surfaced,", "nearest: 'surface'"),
        ("repairs.csv", "ot.front_horn,frame.treat,0.6", "ot.front_horn,frame.treat,-1", "quantity is -1"),
        ("repairs.csv", "U.bodyraise", "U.bodyrise", "nearest: 'U.bodyraise'"),
        ("operations.csv", ",3,6,10,", ",6,3,10,", "must not fall"),
        ("operations.csv", "U.clean:0.6", "U.clean:much", "share of U.clean is 'much'"),
        ("edges.csv", "ot.rocker", "ot.roker", "nearest: 'ot.rocker'"),
        ("panels.csv", "pickup,fender,Front fender,L+R,1,1,door", "pickup,fender,Front fender,L+R,1,1,dor", "nearest: 'door'"),
        ("replacements.csv", "bedside", "bedsid", "nearest: 'bedside'"),
        ("bill.csv", "correlation", "corelation", "row 'correlation' is missing"),
    ],
)
def test_a_mistake_in_a_table_is_named_with_its_remedy(tmp_path: Path, name: str, old: str, new: str, says: str) -> None:
    with pytest.raises(BadInput) as caught:
        overlay(tmp_path, name, old, new)
    assert says in str(caught.value)


def test_a_zone_without_a_row_for_a_condition_is_refused(tmp_path: Path) -> None:
    lines = (SHIPPED / "repairs.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line.startswith("pu.hood,holed")]
    (tmp_path / "repairs.csv").write_text("".join(kept), encoding="utf-8")
    with pytest.raises(BadInput, match=r"zone pu\.hood has no row for holed"):
        load_book("pickup", load_tables(tmp_path))


def test_a_plan_with_a_zone_that_nobody_priced_is_refused(tmp_path: Path) -> None:
    lines = (SHIPPED / "repairs.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (tmp_path / "repairs.csv").write_text("".join(line for line in lines if not line.startswith("pu.hood,")), encoding="utf-8")
    tables = load_tables(tmp_path)
    with pytest.raises(BadInput, match=r"'pu\.hood' is not known"):
        lay_out(load_plan("pickup", tables), load_book("pickup", tables), default_terms(tables))
