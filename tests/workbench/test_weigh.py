"""The whole way from evidence to ceiling and asks: directions that must hold whatever the numbers in the tables."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from candidates import TABLES, TODAY, candidate, clean_everywhere, weighed

from weldworth.core.errors import BadInput
from weldworth.core.units import millimetres
from weldworth.evidence.records import Answer, Finding, Reading
from weldworth.exposure.history import Residence
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.dossier import ResaleView, Sale
from weldworth.workbench.weigh import weigh

SLACK = 200.0
"""Dollars: what a fixed seed's draws may move the ceiling by themselves; the bill's mean has a standard error of about 60."""


def finding(zone: str, sign: str, **more: object) -> Finding:
    usual = {"source": "asked-picture", "quality": 0.85, "where": f"about {zone} {sign}"}
    return Finding(zone, sign, **{**usual, **more})  # type: ignore[arg-type]


def test_the_order_of_the_evidence_does_not_matter():
    records = [
        *clean_everywhere("coupe", "mc.sill.outer"),
        finding("mc.sill.outer.l", "bubbling"),
        finding("mc.sill.outer.l", "staining"),
        finding("mc.sill.outer.l", "filler"),
        Reading("mc.sill.outer.l", "coating", 0.6, "own-ground", where="reading"),
        Answer("owned", "under-one", where="answer"),
    ]
    first = weighed(tuple(records))
    for seed in (1, 2, 3):
        order = np.random.default_rng(seed).permutation(len(records))
        again = weighed(tuple(records[i] for i in order))
        assert np.abs(again.belief.zones - first.belief.zones).max() < 1e-9
        assert again.ceiling.amount == pytest.approx(first.ceiling.amount, abs=1)


@pytest.mark.parametrize(
    "zone", ["mc.sill.outer.l", "mc.rail.rear.r", "mc.floor.front.l", "mc.ws.lower", "mc.trunk.floor", "mc.tower.l"]
)
def test_worse_evidence_never_raises_the_ceiling(zone):
    # in the desert, where metal is almost surely sound before anybody looks, a sign has most to overcome
    desert = (Residence("Tucson, AZ", 1966, None, storage="garage", ground="concrete", salted_winters=0, papers=True),)
    beside = clean_everywhere("coupe", zone)

    def ceiling(sign: str, **more: object) -> float:
        return weighed((*beside, finding(zone, sign, **more)), residences=desert).ceiling.amount

    ladder = [ceiling(sign) for sign in ("original-paint", "surface-rust", "bubbling", "hole")]
    probes = [ceiling(sign, source="own-lift") for sign in ("rings", "dents", "goes-through")]
    for steps in (ladder, probes):
        for better, worse in pairwise(steps):
            assert worse <= better + SLACK
        assert steps[-1] < steps[0]


@pytest.mark.parametrize(("sign", "direction"), [("bubbling", 1), ("scale", 1), ("original-paint", -1), ("hole", 1)])
def test_more_trust_in_a_source_never_reverses_the_direction_of_its_evidence(sign, direction):
    zone = "mc.quarter.low.l"
    before = weighed(()).belief.of(zone)
    loss = {name: before[name] for name in ("pitted", "holed")}
    moved = []
    for source in ("seller-word", "beauty-picture", "video", "asked-picture", "inspector-lift", "stripped"):
        after = weighed((finding(zone, sign, source=source, quality=None),)).belief.of(zone)
        moved.append(direction * (after["pitted"] + after["holed"] - sum(loss.values())))
    assert min(moved) > 0
    assert moved == sorted(moved)


@pytest.mark.parametrize(("value", "unit"), [(420.0, "um"), (420 / 25.4, "mil"), (0.42, "mm")])
def test_units_do_not_matter(value, unit):
    reading = Reading("mc.quarter.low.l", "coating", millimetres(value, unit), "own-ground", value, unit, where="reading")
    reference = Reading("mc.quarter.low.l", "coating", 0.42, "own-ground", 0.42, "mm", where="reading")
    assert np.allclose(weighed((reading,)).belief.zones, weighed((reference,)).belief.zones, atol=1e-12)


def test_the_same_dossier_day_and_seed_give_the_same_numbers():
    first, again, other = weighed(seed=4), weighed(seed=4), weighed(seed=5)
    assert first.ceiling == again.ceiling
    assert [ask.worth for ask in first.ranking.asks] == [ask.worth for ask in again.ranking.asks]
    assert first.bill.mean != other.bill.mean
    assert (first.belief.zones == other.belief.zones).all()


def test_no_ask_is_worth_less_than_nothing_or_more_than_knowing_everything():
    found = weighed(clean_everywhere("coupe", "mc.rail.rear", "mc.torque.rear", "mc.spring.rear"))
    assert found.ranking.asks
    for ask in found.ranking.asks:
        assert 0 <= ask.worth <= found.ranking.perfect + 1e-6, ask.zone
        assert 0 <= ask.changes <= 1
    assert list(found.ranking.best.worth) == sorted(found.ranking.best.worth)


def test_a_zone_that_nobody_showed_is_worth_more_to_ask_for_than_one_seen_well():
    hidden = "mc.rail.rear"
    found = weighed(clean_everywhere("coupe", hidden), sale=Sale("asked", 20_000, 26_000, seller_place="San Diego, CA"))
    worth = {ask.zone: ask.worth for ask in found.ranking.asks if ask.kind == "picture"}
    assert max(worth[f"{hidden}.l"], worth[f"{hidden}.r"]) > worth["mc.hood"]


def test_an_inspection_is_worth_less_once_everything_was_seen():
    """A dry region plus a real test: the value of a paid inspector becomes small. Common practice, no source."""
    blind = weighed(clean_everywhere("coupe", "mc.rail.rear", "mc.torque.rear", "mc.sill.outer", "mc.sill.inner"))
    seen = weighed(clean_everywhere("coupe"))
    lift = [next(ask.worth for ask in w.ranking.asks if ask.zone == "lift") for w in (blind, seen)]
    assert lift[1] < lift[0]


def test_a_picture_that_shows_nothing_new_does_not_raise_the_ceiling_above_the_clean_one():
    zone = "mc.trunk.floor"
    beside = clean_everywhere("coupe", zone)
    clean = weighed((*beside, finding(zone, "original-paint"))).ceiling.amount
    for sign in ("mud", "sealer-crack", "wet", "not-shown"):
        assert weighed((*beside, finding(zone, sign))).ceiling.amount <= clean + SLACK


def salted() -> tuple[Residence, ...]:
    return (replace(candidate().residences[0], place="Grand Rapids, MI", salted_winters=30, storage="outside", ground="gravel"),)


def test_a_repaired_zone_that_rings_costs_no_more_than_a_sound_one():
    zone = "mc.sill.outer.l"
    rings = finding(zone, "rings", source="own-lift")
    repainted = Reading(zone, "coating", 0.3, "own-lift", where="gauge")
    belief = weighed((rings, repainted), repairs="dated-photos", residences=salted()).belief.of(zone)
    assert belief["mended"] > 0.4
    assert belief["holed"] + belief["masked"] < 0.1


def test_a_corrected_finding_no_longer_weighs_and_the_correction_does():
    zone = "mc.sill.outer.l"
    wrong = finding(zone, "hole", where="finding 1")
    right = finding(zone, "original-paint", where="finding 2", replaces="finding 1")
    assert np.allclose(weighed((wrong, right)).belief.zones, weighed((replace(right, replaces=None),)).belief.zones, atol=1e-12)


def test_a_correction_of_something_never_recorded_is_refused():
    with pytest.raises(BadInput, match="finding 7"):
        weighed((finding("mc.hood", "hole", where="finding 2", replaces="finding 7"),))


def test_a_higher_labour_rate_never_raises_the_ceiling_and_own_hours_never_lower_it():
    shop = dict(candidate().shop)
    base = weighed(clean_everywhere("coupe", "mc.sill.outer", "mc.floor.front")).ceiling.amount
    dear = weighed(clean_everywhere("coupe", "mc.sill.outer", "mc.floor.front"), shop={**shop, "labour_rate": (90, 120, 160)})
    own = weighed(clean_everywhere("coupe", "mc.sill.outer", "mc.floor.front"), shop={**shop, "own_hours": 60, "own_rate": 20})
    assert dear.ceiling.amount < base < own.ceiling.amount


def test_a_salted_life_lowers_the_ceiling():
    shown = clean_everywhere("coupe", "mc.sill.outer", "mc.rail.rear")
    assert weighed(shown, residences=salted()).ceiling.amount < weighed(shown).ceiling.amount


def test_rivals_at_an_auction_never_raise_the_ceiling():
    records = clean_everywhere("coupe", "mc.sill.outer")
    amounts = [weighed(records, sale=Sale("auction", 15_000, 18_000, bidders=n)).ceiling.amount for n in (0, 1, 3, 8)]
    assert amounts == sorted(amounts, reverse=True)
    assert amounts[-1] < amounts[0]


def test_what_an_answer_admits_is_set_aside():
    admits = weighed((Answer("cold-start", "parked", where="answer 1"),))
    assert admits.terms.deal.mechanical_reserve == weighed().terms.deal.mechanical_reserve + 2500


def test_no_word_of_the_resale_is_refused_with_the_remedy():
    with pytest.raises(BadInput, match=r"add \[resale\] with low, likely and high, or a comparables.csv"):
        weighed(resale=None)


def test_every_problem_of_the_shops_terms_is_told_at_once():
    shop = {"margn": 0.2, "labour_rate": (90, 80, 70), "place": "Nowhere, KS", "transport": -5, "transport_by": "balloon"}
    with pytest.raises(BadInput) as refused:
        weighed(shop=shop)
    text = str(refused.value)
    for word in ("margn", "margin", "labour_rate", "Nowhere", "transport is -5", "balloon"):
        assert word in text


def test_the_remarks_name_what_nobody_has_seen():
    codes = {(remark.code, remark.about) for remark in weighed().remarks}
    assert ("unseen-structure", "structure") in codes
    sentinel = load_plan("coupe", TABLES).sentinels[0].zone
    assert ("unseen-sentinel", sentinel) in codes
    shown = {(r.code, r.about) for r in weighed(clean_everywhere("coupe")).remarks}
    assert not {code for code, _ in shown} & {"unseen-structure", "unseen-sentinel"}


def test_metal_that_the_seller_only_speaks_well_of_is_not_seen():
    sentinel = load_plan("coupe", TABLES).sentinels[0].zone
    told, shown = (Finding(sentinel, "original-paint", source) for source in ("seller-answer", "asked-picture"))
    codes = [{(r.code, r.about) for r in weighed((record,)).remarks} for record in (told, shown)]
    assert [("unseen-sentinel", sentinel) in found for found in codes] == [True, False]


def test_a_weighing_carries_what_it_can_be_recomputed_from():
    found = weigh(candidate(), TABLES, today=TODAY, seed=9)
    assert (found.seed, found.tables, found.weighed_on) == (9, TABLES.version, TODAY)


def test_the_asks_about_one_zone_are_the_same_whether_or_not_all_were_judged():
    first, again = (weigh(candidate(), TABLES, today=TODAY, seed=4, asks=0) for _ in range(2))
    by_zone = {zone.id: [ask for ask in again.ranking.asks if ask.zone == zone.id] for zone in first.plan.zones}
    assert sum(map(len, by_zone.values())) > len(by_zone) / 2
    for zone, asks in by_zone.items():
        assert sorted(first.asking.about(zone), key=str) == sorted(asks, key=str) == sorted(again.asking.about(zone), key=str)


def test_a_door_gap_that_was_measured_is_not_asked_for_again_and_that_of_the_other_side_is():
    def asked(*records):
        return {ask.zone for ask in weighed(records).ranking.asks if ask.kind == "reading" and ".gap." in (ask.zone or "")}

    assert asked() == {"mc.gap.l", "mc.gap.r"}
    assert asked(Reading("mc.gap.l", "door-gap", 1.0, "own-ground", where="reading")) == {"mc.gap.r"}
    assert asked(finding("mc.door.low.l", "bubbling")) == {"mc.gap.l", "mc.gap.r"}


def test_a_few_asks_pay_together_where_none_pays_alone():
    """Priced far past the ceiling no single picture turns the decision. Second method: decide on half the draws what each joint
    outcome calls for, and count the gain on the other half, which knows nothing of that choice."""
    far = candidate(resale=ResaleView(54_000, 59_000, 66_000), sale=Sale("asked", 16_000, 16_000, seller_place="San Diego, CA"))
    found = weigh(far, TABLES, today=TODAY, seed=1)
    assert max(ask.net for ask in found.ranking.asks if ask.kind != "visit") <= 0
    best = found.ranking.best
    cost = sum(ask.cost for ask in best.asks)
    assert len(best.asks) >= 3 and best.worth[-1] > 10 * cost
    shown = {(one.ask.kind, one.ask.label): one.observation.per_draw for one in found.asking.askable}
    payoff = found.asking.decision.payoff
    joint = np.ones((1, len(payoff)))
    for ask in best.asks:
        joint = (joint[:, None, :] * shown[(ask.kind, ask.label)][None]).reshape(-1, len(payoff))
    for start in (0, 1):
        told, judged = (joint[:, half::2] @ payoff[half::2] / len(payoff[half::2]) for half in (start, 1 - start))
        now = np.where(payoff[start::2].mean(axis=0) > 0, payoff[1 - start :: 2].mean(axis=0), 0.0)
        gain = float((np.where(told > 0, judged, 0.0).sum(axis=0) - now) @ found.asking.decision.chance)
        assert gain > 5 * cost
        assert gain == pytest.approx(best.worth[-1], rel=0.35)
