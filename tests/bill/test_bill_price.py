"""The bill itself: hand sums, what must hold whatever the numbers, and the refusals."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from plainly import cost

from weldworth.bill import BillDraws, RepairTerms, default_terms, price, price_at_likely
from weldworth.bill.spread import Triple, draw_chances
from weldworth.core.errors import BadInput
from weldworth.tables.load import SHIPPED, load_tables
from weldworth.vehicle.conditions import HOLED, MASKED, MENDED, PITTED, SOUND, SURFACE
from weldworth.vehicle.plan import Plan
from weldworth.vehicle.plans import load_plan

TABLES = load_tables()
BODIES = TABLES.plan_names()
TERMS = default_terms(TABLES)


@cache
def plan_of(body: str) -> Plan:
    return load_plan(body, TABLES)


def metal(body: str, /, **conditions: int) -> NDArray[np.int8]:
    """One vehicle, sound but for the zones named with __ for a dot, such as pu__floor__front__l=HOLED."""
    plan = plan_of(body)
    row = np.zeros((1, len(plan.zones)), dtype=np.int8)
    for zone, condition in conditions.items():
        row[0, plan.index[zone.replace("__", ".")]] = condition
    return row


def likely(body: str, terms: RepairTerms | None = None, /, **conditions: int) -> float:
    return float(price_at_likely(plan_of(body), metal(body, **conditions), terms or TERMS, TABLES).total[0])


def setup_share(draws: BillDraws, code: str) -> float:
    """How many times the set-up is charged, by its likely hours, in the first draw."""
    codes = [setup.code for setup in draws.layout.setups]
    i = codes.index(code)
    return float(draws.costing.setup_hours[i, 0] / draws.layout.setups[i].hours.likely)


def at_likely(body: str, /, **conditions: int) -> BillDraws:
    return price_at_likely(plan_of(body), metal(body, **conditions), TERMS, TABLES)


def test_a_sound_vehicle_costs_nothing_and_neither_does_a_properly_mended_one() -> None:
    for body in BODIES:
        zones = len(plan_of(body).zones)
        for condition in (SOUND, MENDED):
            rows = np.full((50, zones), condition, dtype=np.int8)
            assert not price(plan_of(body), rows, TERMS, TABLES, seed=1).total.any()


def test_a_job_of_three_operations_adds_up_by_hand() -> None:
    # One side of a pickup: floor pan holed (full half pan 14 h / 160), front cab mount pitted (5 h / 70), toe board
    # pitted (0.7 patch: 4.2 h / 49), all one work group: 14 + 0.825 (5 + 4.2) h. Set-ups: teardown 6 h / 20,
    # interior on one side 0.75 (4 h / 120), cab bolts on one side 0.7 (8 h / 120), underside in one place 0.3 (10 h /
    # 150), exhaust 1.5 h / 40. Then underside coat 7 h / 170 and cavity wax 3.5 h / 90. Nothing to paint outside.
    # Hours, materials and shares: common practice, no source.
    work = 14 + 0.825 * (5 + 4.2)
    setups = 6 + 0.75 * 4 + 0.7 * 8 + 0.3 * 10 + 1.5
    hours = work + setups + 7 + 3.5
    material = 160 + 70 + 49 + 20 + 0.75 * 120 + 0.7 * 120 + 0.3 * 150 + 40 + 170 + 90
    consumables = 350 + (14 + 5 + 4.2 - 20) / 40 * (750 - 350)
    total = likely("pickup", pu__floor__front__l=HOLED, pu__mount__front__l=PITTED, pu__floor__toe__l=PITTED)
    assert total == pytest.approx(100 * hours + material + consumables, abs=0.01)


def test_the_windshield_comes_out_once_when_both_channel_and_cowl_are_done() -> None:
    channel, cowl = {"pu__ws__lower": HOLED}, {"pu__cowl__top": HOLED}
    for zones in (channel, cowl, channel | cowl):
        draws = at_likely("pickup", **zones)
        for code in ("U.glass", "U.dash", "P.setup", "U.teardown"):
            assert setup_share(draws, code) == pytest.approx(1.0)
    assert likely("pickup", **channel, **cowl) < likely("pickup", **channel) + likely("pickup", **cowl) - 2500


def test_left_and_right_share_the_interior_strip() -> None:
    one = at_likely("coupe", mc__floor__front__l=HOLED)
    both = at_likely("coupe", mc__floor__front__l=HOLED, mc__floor__front__r=HOLED)
    assert setup_share(one, "U.int") == pytest.approx(0.75)
    assert setup_share(both, "U.int") == pytest.approx(1.0)


def test_a_larger_set_up_brings_the_smaller_one_with_it() -> None:
    draws = at_likely("coupe", mc__cowl__plenum=HOLED, mc__cowl__wiper=PITTED)
    assert setup_share(draws, "U.dash") == pytest.approx(1.0)
    assert setup_share(draws, "U.dashpart") == 0


def test_two_zones_on_one_panel_are_painted_once() -> None:
    outer = at_likely("pickup", pu__corner__outer__r=HOLED)
    both = at_likely("pickup", pu__corner__outer__r=HOLED, pu__corner__inner__r=HOLED)
    assert both.costing.paint_hours[:, 0].tolist() == outer.costing.paint_hours[:, 0].tolist()
    assert both.costing.paint_hours[0, 0] > 0


def test_from_about_ten_panels_the_whole_vehicle_is_resprayed() -> None:
    # Common practice says from about five panels; at these tables' figures a respray is 12,000 and a panel with its
    # blend up to 1,400, so the change comes later. Which way round it goes is what is checked.
    plan = plan_of("coupe")
    outside = [zone.id for zone in plan.zones if zone.kind in {"mc.fender.low", "mc.door.low", "mc.quarter.low", "mc.sill.outer"}]
    outside += ["mc.hood", "mc.trunklid", "mc.roof", "mc.tailpanel", "mc.cowl.wiper", "mc.rg.channel"]
    sprayed = []
    for count in range(1, len(outside) + 1):
        draws = at_likely("coupe", **{zone.replace(".", "__"): HOLED for zone in outside[:count]})
        panels, _, whole = draws.costing.paint_hours[:, 0]
        assert (whole > 0) != (panels > 0)
        sprayed.append(bool(whole > 0))
    assert not sprayed[3]
    assert sprayed[-1]
    assert sprayed == sorted(sprayed)


def test_two_cut_outs_that_meet_need_a_joint_and_two_pitted_neighbours_do_not() -> None:
    holed = at_likely("coupe", mc__sill__inner__l=HOLED, mc__apost__l=MASKED)
    pitted = at_likely("coupe", mc__sill__inner__l=PITTED, mc__apost__l=HOLED)
    across = at_likely("coupe", mc__sill__inner__l=HOLED, mc__apost__r=HOLED)
    assert 3 <= holed.costing.edge_hours[0] <= 6
    assert pitted.costing.edge_hours[0] == across.costing.edge_hours[0] == 0


@pytest.mark.parametrize("body", BODIES)
def test_masked_metal_costs_more_than_the_same_zone_holed(body: str) -> None:
    plan = plan_of(body)
    zones = len(plan.zones)
    holed, masked = np.zeros((zones, zones), dtype=np.int8), np.zeros((zones, zones), dtype=np.int8)
    np.fill_diagonal(holed, HOLED)
    np.fill_diagonal(masked, MASKED)
    a, b = (price(plan, rows, TERMS, TABLES, seed=5) for rows in (holed, masked))
    swapped = (a.costing.level < 0).any(axis=0) | a.chosen.any(axis=0) | b.chosen.any(axis=0)
    assert (b.total >= a.total).all()
    assert (b.total > a.total)[~swapped].all()


LADDER = (SOUND, SURFACE, PITTED, HOLED, MASKED)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_more_damage_never_costs_less(data: st.DataObject) -> None:
    body = data.draw(st.sampled_from(BODIES))
    plan = plan_of(body)
    zones = len(plan.zones)
    seed = data.draw(st.integers(0, 10_000))
    rng = np.random.default_rng(seed)
    weights = data.draw(st.sampled_from([(0.7, 0.2, 0.05, 0.04, 0.01), (0.3, 0.3, 0.2, 0.1, 0.1), (0.02, 0.08, 0.2, 0.5, 0.2)]))
    steps = rng.choice(5, size=(400, zones), p=weights)
    worse = np.minimum(steps + (rng.random((400, zones)) < data.draw(st.sampled_from([0.02, 0.2, 1.0]))), 4)
    terms = replace(TERMS, paint=data.draw(st.sampled_from(["full", "none"])), own_hours=data.draw(st.sampled_from([0.0, 60.0])))
    codes = np.array(LADDER, dtype=np.int8)
    a, b = (price(plan, codes[rows], terms, TABLES, seed=seed).total for rows in (steps, worse))
    assert (b >= a * (1 - 1e-9)).all()


def rotten(body: str, seed: int, draws: int = 2000) -> NDArray[np.int8]:
    """Draws from nearly clean to nearly gone."""
    rng = np.random.default_rng(seed)
    worst = rng.random((draws, 1)) * 4
    codes = np.array(LADDER, dtype=np.int8)
    steps = np.minimum(rng.random((draws, len(plan_of(body).zones))) * worst + 0.3, 4).astype(int)
    return np.asarray(codes[steps], dtype=np.int8)


@pytest.mark.parametrize("body", BODIES)
def test_offering_a_replacement_never_makes_any_draw_dearer(body: str, tmp_path: Path) -> None:
    header = (SHIPPED / "replacements.csv").read_text(encoding="utf-8").splitlines(keepends=True)[0]
    (tmp_path / "replacements.csv").write_text(header, encoding="utf-8")
    rows = rotten(body, 4)
    offered = price(plan_of(body), rows, TERMS, TABLES, seed=4)
    repaired = price(plan_of(body), rows, TERMS, load_tables(tmp_path), seed=4)
    assert (offered.total <= repaired.total + 1e-6).all()
    replaced = offered.chosen.any(axis=0)
    assert replaced.any()
    assert (offered.total < repaired.total)[replaced].all()
    assert offered.total[~replaced] == pytest.approx(repaired.total[~replaced])


def test_the_choice_of_replacements_is_the_cheapest_of_all_combinations() -> None:
    plan, rows = plan_of("pickup"), rotten("pickup", 8, 300)
    draws = price(plan, rows, TERMS, TABLES, seed=8)
    layout = draws.layout
    chances = draw_chances(1 + max(layout.keys.values()), 300, layout.book.correlation, 8)
    rate = TERMS.labour_rate.at(np.clip(chances.rate, -3, 3))
    subsets = [s for size in range(4) for s in combinations(range(3), size)]
    every = np.array([cost(layout, draws.conditions, chances, rate, some).total for some in subsets])
    assert draws.costing.total == pytest.approx(every.min(axis=0))


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("seed", range(6))
def test_the_quick_bill_is_the_plain_one_to_the_last_digit_shown(body: str, seed: int) -> None:
    """Against every combination of replacements priced from the conditions up (plainly.py), part by part."""
    plan, terms = plan_of(body), replace(TERMS, own_hours=40.0 * (seed % 2), repair=("all", "needed", "structural")[seed % 3])
    rows = rotten(body, seed, 200) if seed < 5 else metal(body)
    draws = price(plan, rows, terms, TABLES, seed=seed)
    layout, count = draws.layout, rows.shape[0]
    chances = draw_chances(1 + max(layout.keys.values()), count, layout.book.correlation, seed)
    rate = terms.labour_rate.at(np.clip(chances.rate, -3, 3))
    parts = range(len(layout.book.replacements))
    every = [s for size in range(len(parts) + 1) for s in combinations(parts, size)]
    plain = [cost(layout, draws.conditions, chances, rate, some) for some in every]
    assert draws.costing.total == pytest.approx(np.min([one.total for one in plain], axis=0), rel=1e-12)
    for draw in range(count):
        some = tuple(int(part) for part in np.flatnonzero(draws.chosen[:, draw]))
        one = plain[every.index(some)]
        for item in fields(one):
            quick, slow = (getattr(costing, item.name)[..., draw] for costing in (draws.costing, one))
            assert quick == pytest.approx(slow, rel=1e-12, abs=1e-9), (item.name, draw, some)


def test_every_part_of_the_bill_adds_up_to_the_total() -> None:
    for body in BODIES:
        draws = price(plan_of(body), rotten(body, 2), replace(TERMS, own_hours=50, own_rate=10), TABLES, seed=2)
        c = draws.costing
        rows = [(c.job_hours, c.job_material), (c.setup_hours, c.setup_material), (c.paint_hours, c.paint_material)]
        rows += [(c.edge_hours[None], c.edge_material[None]), (c.part_hours, c.part_material)]
        parts = sum((h * c.hour_price + m).sum(axis=0) for h, m in rows) + c.consumables + draws.overrun
        assert parts == pytest.approx(draws.total)


def test_the_same_seed_gives_the_same_digits_and_another_seed_others() -> None:
    rows = rotten("van", 1)
    one, two, other = (price(plan_of("van"), rows, TERMS, TABLES, seed=s).total for s in (7, 7, 8))
    assert one.tobytes() == two.tobytes()
    assert one.tobytes() != other.tobytes()


def test_two_bills_with_one_seed_differ_only_by_the_metal() -> None:
    rows = rotten("coupe", 1)
    changed = rows.copy()
    changed[:, plan_of("coupe").index["mc.hood"]] = SOUND
    same = rows[:, plan_of("coupe").index["mc.hood"]] == SOUND
    a, b = (price(plan_of("coupe"), r, TERMS, TABLES, seed=3).total for r in (rows, changed))
    assert (a[same] == b[same]).all()
    assert (b <= a + 1e-9).all()


@pytest.mark.parametrize(("seen", "median", "p90"), [("pictures", 1.15, 1.6), ("probe", 1.08, 1.35), ("strip", 1.03, 1.15)])
def test_the_finished_job_outgrows_its_estimate_less_the_more_was_seen(seen: str, median: float, p90: float) -> None:
    # Common practice, no source: median and 90 per cent point of finished job over estimate.
    rows = np.repeat(metal("pickup", pu__frame__shackle__l=HOLED), 40_000, axis=0)
    draws = price(plan_of("pickup"), rows, TERMS, TABLES, seed=11, seen=seen)
    times = draws.total / (draws.total - draws.overrun)
    assert np.median(times) == pytest.approx(median, rel=0.01)
    assert np.percentile(times, 90) == pytest.approx(p90, rel=0.01)


def test_a_known_job_still_has_a_long_upper_tail() -> None:
    rows = np.repeat(metal("pickup", pu__frame__shackle__l=HOLED, pu__frame__kick__l=HOLED), 20_000, axis=0)
    total = price(plan_of("pickup"), rows, TERMS, TABLES, seed=1).total
    p10, p50, p90 = np.percentile(total, (10, 50, 90))
    assert p90 - p50 > p50 - p10
    assert total.mean() > p50


def test_the_owners_first_hours_are_charged_at_his_own_rate() -> None:
    # 6 h teardown + 2 h tray at 100 USD; with 5 own hours at 20 the bill falls by 5 (100 - 20).
    full = likely("coupe", mc__battery=PITTED)
    own = likely("coupe", replace(TERMS, own_hours=5.0, own_rate=20.0), mc__battery=PITTED)
    free = likely("coupe", replace(TERMS, own_hours=500.0), mc__battery=PITTED)
    assert full - own == pytest.approx(5 * 80)
    assert 0 < free < full - 700


def test_sold_without_paint_nothing_is_painted_and_a_touch_of_surface_rust_stays() -> None:
    bare = replace(TERMS, paint="none")
    assert likely("coupe", bare, mc__quarter__low__l=SURFACE) == 0
    painted, unpainted = likely("coupe", mc__quarter__low__l=HOLED), likely("coupe", bare, mc__quarter__low__l=HOLED)
    assert 1.5 * unpainted < painted


def test_structure_only_leaves_the_skin_and_nothing_at_all_leaves_everything() -> None:
    structural = replace(TERMS, repair="structural")
    zones = {"mc__rail__rear__l": HOLED, "mc__fender__low__l": HOLED}
    assert likely("coupe", structural, **zones) == likely("coupe", mc__rail__rear__l=HOLED)
    assert likely("coupe", replace(TERMS, repair="none"), **zones) == 0


def test_another_currency_only_changes_the_unit() -> None:
    rows = rotten("roadster", 6, 500)
    usd = price(plan_of("roadster"), rows, TERMS, TABLES, seed=6)
    other = replace(TERMS, labour_rate=Triple(150, 200, 280), currency="XYZ", per_usd=2.0)
    twice = price(plan_of("roadster"), rows, other, TABLES, seed=6)
    assert twice.currency == "XYZ"
    assert twice.total == pytest.approx(2 * usd.total)


def test_surface_rust_on_a_painted_panel_is_a_small_matter() -> None:
    for zone in ("pu__door__low__l", "mc__hood", "sr__wing__f__low__r", "mv__side__low__l", "ot__tailgate"):
        body = next(b for b in BODIES if zone.replace("__", ".") in plan_of(b).index)
        assert likely(body, **{zone: SURFACE}) < 500 < likely(body, **{zone: HOLED})


@pytest.mark.parametrize("shape", [(10, 3), (0, 68), (68,)])
def test_conditions_of_the_wrong_shape_are_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(BadInput, match=r"conditions have shape .* give \(draws, 68\)"):
        price(plan_of("pickup"), np.zeros(shape, dtype=np.int8), TERMS, TABLES, seed=1)


@pytest.mark.parametrize("code", [-1, 6])
def test_codes_that_are_no_condition_are_refused(code: int) -> None:
    rows = np.full((2, len(plan_of("pickup").zones)), code, dtype=np.int8)
    with pytest.raises(BadInput, match="condition codes run from"):
        price(plan_of("pickup"), rows, TERMS, TABLES, seed=1)


def test_an_unknown_kind_of_look_is_refused_with_the_nearest() -> None:
    with pytest.raises(BadInput, match="nearest: 'pictures'"):
        price(plan_of("pickup"), metal("pickup"), TERMS, TABLES, seed=1, seen="picture")
