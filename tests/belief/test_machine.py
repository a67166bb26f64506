"""The machine's word about a picture as evidence: the measured confusion is its likelihood.

The confusion was measured with the model (docs/rust-model.md); P(sign | condition) is common practice, no source.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from agrum import Agrum
from vehicles import TABLES, belief_about, network_of, random_evidence, seen

import weldworth
from weldworth.belief.believe import log_odds
from weldworth.belief.damping import damp
from weldworth.belief.engine import Orders, infer
from weldworth.belief.machine import trusts
from weldworth.core.errors import BadInput
from weldworth.evidence.pictures import Look
from weldworth.tables import load_tables
from weldworth.vehicle.conditions import CONDITIONS

SHIPPED = Path(weldworth.__file__).parent / "tables"
ZONE = "mc.sill.outer.l"
RUST = ("surface-rust",)


def a_look(*suggested: str, zone: str = ZONE, **changes: object) -> Look:
    usual = Look(zone, "sill.jpg", "asked-picture", 0.9, suggested)
    return replace(usual, **changes)  # type: ignore[arg-type]


def table(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((SHIPPED / name).open(encoding="utf-8")))


def confusion() -> tuple[list[str], dict[tuple[str, str], float]]:
    """The suggested signs, and P(suggested | truth): on photographs where it was measured there."""
    rows = table("machine_signs.csv")
    found = {(r["suggested"], r["truth"]): float(r["chance"]) for r in rows if r["pictures"] == "synthetic"}
    found |= {(r["suggested"], r["truth"]): float(r["chance"]) for r in rows if r["pictures"] == "photographs"}
    return list(dict.fromkeys(r["suggested"] for r in rows)), found


def what_shows(signs: list[str]) -> np.ndarray:
    """P(nothing, or which of the signs, shows | condition), (1 + signs, 6), written out from docs/method.md."""
    given = {row["sign"]: row for row in table("signs.csv")}
    columns = []
    for condition in CONDITIONS:
        each = np.array([float(given[sign][condition]) for sign in signs])
        nothing = np.prod(1 - each)
        columns.append([nothing, *((1 - nothing) * each / each.sum())])
    return np.array(columns).T


@pytest.mark.parametrize("suggested", [True, False])
def test_a_look_agrees_with_an_independent_engine_that_knows_what_shows_and_the_confusion(suggested):
    """pyAgrum on the identical network, with a node for what the picture shows and one for what the machine says of it."""
    signs, chance = confusion()
    orders, z = Orders(4, 3, 3), 7
    network = network_of("coupe")
    evidence = random_evidence(network, np.random.default_rng(20261103), findings=12)
    for quality in (0.35, 0.9):
        other = Agrum(network, orders)
        said = np.array([chance["surface-rust", truth] for truth in ("none", *signs)])
        other.watch(z, what_shows(signs), quality * said + (1 - quality) * said[0], suggested=suggested)
        own = trusts(TABLES)["surface-rust"].through(quality, absent=not suggested)
        both = {**evidence.zones, z: evidence.zones.get(z, np.ones(6)) * own}
        ours = infer(network, replace(evidence, zones=both), orders).zones
        assert np.abs(ours - other.marginals(evidence)).max() < 1e-6


def test_rust_found_on_a_picture_moves_its_zone_to_rusted_and_one_without_moves_it_back():
    nothing = belief_about("coupe", [])
    rusty = belief_about("coupe", [a_look(*RUST)])
    clean = belief_about("coupe", [a_look()])
    rusted = [nothing.plan.index[ZONE], [1, 2, 3]]
    assert clean.zones[*rusted].sum() < nothing.zones[*rusted].sum() < rusty.zones[*rusted].sum()
    assert rusty.of(ZONE)["surface"] > nothing.of(ZONE)["surface"] and rusty.of(ZONE)["pitted"] > nothing.of(ZONE)["pitted"]
    assert rusty.of(ZONE)["sound"] < nothing.of(ZONE)["sound"] < clean.of(ZONE)["sound"]


@pytest.mark.parametrize(("look", "sign"), [((), -1), (RUST, 1)])
def test_a_picture_never_moves_the_odds_by_more_than_the_confusion_allows(look, sign):
    """However sharp: what is suggested with 0.92 where there is rust and 0.056 where there is none moves odds at most so far."""
    _, chance = confusion()
    there, not_there = chance["surface-rust", "hole"], chance["surface-rust", "none"]
    most = np.log(there / not_there) if sign > 0 else np.log((1 - not_there) / (1 - there))
    before, after = belief_about("coupe", []), belief_about("coupe", [a_look(*look, quality=1.0)])
    z = before.plan.index[ZONE]
    for c in range(1, 6):
        moved = np.log(after.zones[z, c] / after.zones[z, 0]) - np.log(before.zones[z, c] / before.zones[z, 0])
        assert 0 < sign * moved < most


def test_a_person_who_saw_the_same_is_believed_more_than_the_machine():
    machine, person = belief_about("coupe", [a_look(*RUST)]), belief_about("coupe", [seen(ZONE, "surface-rust")])
    assert person.of(ZONE)["sound"] < machine.of(ZONE)["sound"]


def test_a_poorer_picture_and_a_less_trusted_source_say_less():
    moved = [
        log_odds(belief_about("coupe", [a_look(*RUST, quality=q, source=source)]).zones[0 + index])
        for q, source in ((0.95, "asked-picture"), (0.5, "asked-picture"), (0.5, "beauty-picture"), (0.0, "asked-picture"))
        for index in [belief_about("coupe", []).plan.index[ZONE]]
    ]
    nothing = belief_about("coupe", [])
    assert moved == sorted(moved, reverse=True)
    assert moved[-1] == pytest.approx(float(log_odds(nothing.zones[nothing.plan.index[ZONE]])))


def test_signs_measured_on_synthetic_pictures_alone_count_lightly_and_their_silence_not_at_all():
    lightly = {row["sign"]: (float(row["weight"]), float(row["silence"])) for row in table("machine_trust.csv")}
    measured = {row["suggested"] for row in table("machine_signs.csv") if row["pictures"] == "photographs"}
    assert measured == {"surface-rust"} and lightly["surface-rust"] == (1, 1)
    assert all(weight < 0.5 and silence == 0 for sign, (weight, silence) in lightly.items() if sign not in measured)
    (silence,) = belief_about("coupe", [a_look()]).pieces
    assert silence.text == "no surface rust by the machine on sill.jpg (fresh picture taken to instructions)"
    bubbling = next(p for p in belief_about("coupe", [a_look("bubbling")]).pieces if (p.zone, p.kind) == (ZONE, "rust"))
    alone = trusts(TABLES)["bubbling"].through(0.9, absent=False)
    assert bubbling.strength == pytest.approx(0.3 * np.ptp(np.log(alone)))


def test_a_fresh_coat_that_the_machine_suggests_raises_masked_and_never_raises_sound():
    nothing, coated = belief_about("coupe", []), belief_about("coupe", [a_look("fresh-coating")])
    assert coated.of(ZONE)["masked"] > nothing.of(ZONE)["masked"] and coated.of(ZONE)["sound"] < nothing.of(ZONE)["sound"]


def test_several_signs_on_one_picture_are_one_eye_and_count_less_than_apart():
    signs = ("surface-rust", "scale", "fresh-coating", "patch")
    together = belief_about("coupe", [a_look(*signs)])
    powers = sorted((p.power for p in together.pieces if p.zone == ZONE), reverse=True)
    assert powers == sorted((0.5**rank for rank in range(4)), reverse=True)
    apart = [a_look(sign, picture=f"{sign}.jpg", silent=False) for sign in signs]
    assert together.of(ZONE)["sound"] > belief_about("coupe", apart).of(ZONE)["sound"]


def test_the_same_sign_on_more_pictures_says_more_but_ever_less():
    looks = [a_look(*RUST, picture=f"{n}.jpg") for n in range(3)]
    sound = [belief_about("coupe", looks[:n]).of(ZONE)["sound"] for n in range(4)]
    odds = np.log([p / (1 - p) for p in sound])
    steps = -np.diff(odds)
    assert steps[0] > steps[1] > steps[2] > 0


def test_zones_that_share_one_unmarked_picture_are_each_told_less():
    alone, shared = belief_about("coupe", [a_look(*RUST)]), belief_about("coupe", [a_look(*RUST, sharing=4)])
    assert alone.of(ZONE)["sound"] < shared.of(ZONE)["sound"] < belief_about("coupe", []).of(ZONE)["sound"]


def test_what_was_settled_by_a_person_or_put_aside_moves_nothing():
    nothing = belief_about("coupe", [])
    settled = belief_about("coupe", [a_look(*RUST, settled=frozenset(trusts(TABLES)))])
    assert settled.pieces == () and np.array_equal(settled.zones, nothing.zones)


def test_a_sign_found_on_a_cover_tells_of_the_metal_behind_it():
    zone, hidden = next((tell.zone, tell.hidden) for tell in belief_about("pickup", []).plan.tells if "bubbling" in tell.signs)
    nothing, told = belief_about("pickup", []), belief_about("pickup", [a_look("bubbling", zone=zone, silent=False)])
    h = nothing.plan.index[hidden]
    assert log_odds(told.zones[h]) > log_odds(nothing.zones[h])
    assert any(piece.zone == hidden and piece.kind.startswith("tell") for piece in told.pieces)


def test_a_clean_picture_of_long_ago_leaves_more_room_for_rust_today_than_a_fresh_one():
    """Common practice, no source."""
    old, new = (
        belief_about("coupe", [a_look(seen_on=day)], exposure=2.0, grown=0.4) for day in (date(2012, 5, 1), date(2026, 10, 1))
    )
    assert old.of(ZONE)["surface"] / old.of(ZONE)["sound"] > 1.05 * new.of(ZONE)["surface"] / new.of(ZONE)["sound"]


def test_the_machines_word_never_weakens_a_persons():
    """Neither a stronger word of the machine on the same zone nor a coat that it suggests on others."""
    weak = seen(ZONE, "surface-rust", "beauty-picture", quality=0.4)
    coat = seen("mc.sill.outer.r", "fresh-coating")
    machine = [a_look(*RUST, silent=False), *(a_look("fresh-coating", zone=f"mc.jack.{side}") for side in "lr")]
    alone, beside = belief_about("coupe", [weak, coat]), belief_about("coupe", [weak, coat, *machine])
    powers = [{(p.zone, p.text, p.kind): p.power for p in one.pieces if p.by == "picture"} for one in (alone, beside)]
    assert powers[0] == powers[1] and set(powers[0].values()) == {1.0}
    plan = beside.plan
    assert plan.zone("mc.jack.l").cause == plan.zone("mc.sill.outer.r").cause, "one cause, so that a coat is one act"


def test_the_order_of_looks_does_not_matter():
    belief = belief_about("coupe", [a_look(*RUST, "scale"), a_look("patch", picture="b.jpg"), seen(ZONE, "bubbling")])
    pieces = list(belief.pieces)
    damping = {"further": 0.5, "tell": 0.6, "one_act": -0.5}
    one, other = (damp(belief.plan, order, damping) for order in (pieces, pieces[::-1]))
    key = lambda piece: (piece.zone, piece.text, piece.where)  # noqa: E731
    assert [(p.text, p.power) for p in sorted(one, key=key)] == [(p.text, p.power) for p in sorted(other, key=key)]


def test_a_confusion_that_lacks_a_row_is_refused_by_name(tmp_path):
    text = (SHIPPED / "machine_signs.csv").read_text()
    (tmp_path / "machine_signs.csv").write_text("\n".join(line for line in text.splitlines() if not line.startswith("hole,none")))
    with pytest.raises(BadInput, match="has no row for 'hole' where 'none' is true"):
        trusts(load_tables(tmp_path))
    trust = (SHIPPED / "machine_trust.csv").read_text()
    (tmp_path / "machine_trust.csv").write_text(trust.replace("hole,", "hoel,"))
    (tmp_path / "machine_signs.csv").unlink()
    with pytest.raises(BadInput, match=r"sign 'hoel' is not known in signs\.csv"):
        trusts(load_tables(tmp_path))
