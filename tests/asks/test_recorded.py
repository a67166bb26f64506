"""What asks foretell of a zone that was looked at before, against what the desk believes once the result is recorded too.

Foretold belief = prior x P(outcome | condition) / P(outcome), Bayes' rule; the beliefs weighed by the chances of their outcomes
make the prior, the law of total probability (Kolmogorov 1933, Grundbegriffe der Wahrscheinlichkeitsrechnung, ch. 1 par. 4).
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy.optimize import nnls

from weldworth.asks.outcomes import SHOWN, Photo, looks_of, of_picture, probe_chances, refused_chances, report_of, shown_chances
from weldworth.asks.recorded import NOTHING, Recorded
from weldworth.asks.worth import Decision, Observation, worth_of_each, worth_of_visit
from weldworth.belief.answers import hear
from weldworth.belief.believe import Belief, believe
from weldworth.belief.draws import draw
from weldworth.belief.looking import PROBED, words_of
from weldworth.belief.sight import lexicon
from weldworth.evidence.pictures import Look
from weldworth.evidence.records import Finding, Reading
from weldworth.exposure.result import flat
from weldworth.tables import load_tables
from weldworth.vehicle.conditions import HOLED
from weldworth.vehicle.plans import load_plan

TABLES = load_tables()
LEX = lexicon(TABLES)
PLAN = load_plan("coupe", TABLES)
ZONE = "mc.quarter.low.l"
"""An outer panel that hides metal."""
Z = PLAN.index[ZONE]
GAIN = np.array([900.0, 500.0, -700.0, -2500.0, 600.0, -3000.0])
"""Payoff of buying by the condition of the zone, before its mean is taken off."""
PRICES, CHANCE = np.array([-200.0, 0.0, 200.0]), np.array([0.3, 0.4, 0.3])


def desk(*records: Finding | Reading | Look) -> Belief:
    """The belief about a coupe of usual life once these are recorded."""
    return believe(PLAN, flat(1.5, 0.2), records, TABLES, today=date(2026, 11, 1), heard=hear((), TABLES))


def found(sign: str, source: str = "beauty-picture", **more: object) -> Finding:
    return Finding(ZONE, sign, source, **more)  # type: ignore[arg-type]


def machine(*suggested: str) -> Look:
    return Look(ZONE, "seller.jpg", "beauty-picture", 0.8, suggested)


EARLIER: dict[str, tuple[Finding | Reading | Look, ...]] = {
    "weak rust": (found("surface-rust"),),
    "a hole": (found("hole", "own-ground"),),
    "two of rust": (found("bubbling"), found("scale", "live-video", quality=0.9)),
    "clean": (found("original-paint"),),
    "clean, and rust not there": (found("original-paint"), found("bubbling", absent=True), found("hole", absent=True)),
    "cover and coat": (found("patch"), found("fresh-coating", "video")),
    "not shown": (found("not-shown", "video"),),
    "the machine's": (machine("surface-rust", "bubbling"),),
    "all together": (found("bubbling"), found("original-paint", "video"), found("patch", "video"), machine("scale")),
    "probed": (found("dull", "own-ground"),),
    "probed twice": (
        found("rings", "club-member"),
        found("dents", "own-ground"),
        found("goes-through", "own-ground", absent=True),
    ),
    "a coat measured": (Reading(ZONE, "coating", 0.3, "seller-answer", 300, "um"),),
}


def posterior(prior: np.ndarray, row: np.ndarray) -> np.ndarray:
    return np.asarray(prior * row / (prior @ row))


@pytest.mark.parametrize("earlier", EARLIER)
@pytest.mark.parametrize(("row", "sign"), [(0, "original-paint"), (-1, "hole")])
def test_a_picture_is_foretold_as_the_desk_reads_it_beside_what_is_recorded(earlier: str, row: int, sign: str) -> None:
    now = desk(*EARLIER[earlier])
    shown = Recorded(now, LEX).picture(PLAN.zone(ZONE), shown_chances(LEX, PLAN.zone(ZONE), 0.9), [one[0] for one in SHOWN])
    assert shown.min() >= 0 and shown.sum(axis=0) == pytest.approx(np.ones(6))
    after = desk(*EARLIER[earlier], found(sign, "asked-picture", quality=0.9, picture="asked.jpg"))
    assert posterior(now.zones[Z], shown[row]) == pytest.approx(after.zones[Z], abs=1e-9)


@pytest.mark.parametrize("earlier", EARLIER)
def test_a_picture_that_does_not_come_is_foretold_as_the_desk_reads_it(earlier: str) -> None:
    now = desk(*EARLIER[earlier])
    refusal = LEX.signs["not-shown"].chance
    refused = Recorded(now, LEX).sign(PLAN.zone(ZONE), "not-shown", LEX.sources["asked-picture"], refusal)
    missing = refused_chances(refused, 0.75, now.zones[Z], LEX.sight["least_delivered"])
    assert now.zones[Z] @ missing == pytest.approx(0.25)
    after = desk(*EARLIER[earlier], found("not-shown", "asked-picture"))
    assert posterior(now.zones[Z], missing) == pytest.approx(after.zones[Z], abs=1e-9)


@pytest.mark.parametrize("earlier", ["probed", "probed twice", "a coat measured", "not shown"])
def test_findings_of_other_kinds_leave_a_picture_as_the_table_has_it(earlier: str) -> None:
    table = shown_chances(LEX, PLAN.zone(ZONE), 0.9)
    foretold = Recorded(desk(*EARLIER[earlier]), LEX).picture(PLAN.zone(ZONE), table, [one[0] for one in SHOWN])
    assert foretold == pytest.approx(table, abs=1e-12)


@pytest.mark.parametrize("source", ["own-lift", "inspector-lift", "inspector-ground"])
@pytest.mark.parametrize("earlier", EARLIER)
def test_a_probe_is_foretold_as_the_desk_reads_it_and_the_beliefs_average_to_what_is_believed_now(
    earlier: str, source: str
) -> None:
    """Nothing that tells is what the others leave, which is the desk's own where nothing was probed before."""
    now, looker = desk(*EARLIER[earlier]), LEX.sources[source]
    foretold = Recorded(now, LEX).probe(PLAN.zone(ZONE), looker, probe_chances(LEX, looker.exposed))
    assert foretold.min() >= 0
    mixed = now.zones[Z] * foretold[NOTHING]
    for n, (row, words) in enumerate(zip(foretold, words_of(PROBED), strict=True)):
        said = [found(sign, source, absent=absent, seen_on=date(2026, 11, 1)) for sign, absent in words]
        after = desk(*EARLIER[earlier], *said).zones[Z]
        if n != NOTHING or not earlier.startswith("probed"):
            assert posterior(now.zones[Z], row) == pytest.approx(after, abs=1e-9), words
        if n != NOTHING:
            mixed = mixed + (now.zones[Z] @ row) * after
    assert mixed == pytest.approx(now.zones[Z], abs=1e-9)


def test_no_chances_make_beliefs_that_are_damped_average_to_what_is_believed_now() -> None:
    """Why one result has to take what is left. Chances w of the five results of a second probe with sum of w x belief = prior do
    not exist: least squares with w >= 0 (Lawson and Hanson 1974, Solving Least Squares Problems, ch. 23) leaves a residual. For
    a first probe it leaves none."""
    for earlier, misses in (((), False), (EARLIER["probed"], True)):
        now = desk(*earlier).zones[Z]
        after = [desk(*earlier, *(found(s, "own-lift", absent=a) for s, a in words)).zones[Z] for words in words_of(PROBED)]
        weights, _ = nnls(np.array(after).T / now[:, None], np.ones(6))
        off = np.abs(weights @ np.array(after) - now).max()
        assert (off > 0.001) == misses and (off < 1e-9) != misses


@pytest.mark.parametrize("earlier", ["probed", "probed twice"])
def test_another_probe_is_worth_what_counting_its_results_by_hand_gives(earlier: str) -> None:
    """Every result recorded at the desk and the decision taken on the belief; results as frequent as the table and the belief of
    now say, all rarer by one factor where they would leave less than nothing for the rest, which is decided on what is left."""
    now = desk(*EARLIER[earlier])
    prior, table = now.zones[Z], probe_chances(LEX, LEX.sources["own-lift"].exposed)
    payoff = GAIN[:, None] - prior @ GAIN - PRICES
    joint = []
    for n, (row, words) in enumerate(zip(table, words_of(PROBED), strict=True)):
        after = desk(*EARLIER[earlier], *(found(sign, "own-lift", absent=absent) for sign, absent in words)).zones[Z]
        if n != NOTHING:
            joint.append(float(prior @ row) * after)
    told = np.array(joint) / max(1.0, float((sum(joint) / prior).max()))
    rest = prior - told.sum(axis=0)
    earned = (np.maximum(np.vstack([told, rest]) @ payoff, 0).sum(axis=0) - np.maximum(prior @ payoff, 0)) @ CHANCE
    foretold = Recorded(now, LEX).probe(PLAN.zone(ZONE), LEX.sources["own-lift"], table)
    weighed = Decision(payoff * prior[:, None] * 6, CHANCE)
    [worth, independent] = worth_of_each(weighed, [Observation(np.arange(6), one) for one in (foretold, table)])
    assert worth.gain == pytest.approx(earned, rel=1e-6) and 0 < earned < 0.9 * independent.gain


@pytest.mark.parametrize("source", ["own-lift", "inspector-lift"])
def test_an_inspection_is_foretold_to_learn_less_where_the_zone_that_matters_was_probed(source: str) -> None:
    """One look that decides: its exact worth (Raiffa, Schlaifer 1961), less what few draws teach."""
    now, looker = desk(*EARLIER["probed"]), LEX.sources[source]
    draws = draw(now.posterior, 16_384, 3)
    condition = draws.conditions[:, Z]
    payoff = GAIN[condition]
    decision = Decision((payoff - payoff.mean() + 100)[:, None], np.ones(1))
    recorded, table = Recorded(now, LEX), probe_chances(LEX, looker.exposed)
    chances = (recorded.probe(PLAN.zone(ZONE), looker, table), table)
    exact, independent = worth_of_each(decision, [Observation(condition.astype(np.intp), one) for one in chances])
    looks = looks_of(now, recorded, [Z], looker, draws, LEX, decision.payoff[:, 0], 3)
    worth = worth_of_visit(decision, report_of(PLAN, looks))
    assert 0.85 * exact.gain < worth.gain < 1.05 * exact.gain < 0.8 * independent.gain


def test_what_was_told_of_hidden_metal_before_makes_no_sign_of_the_zone_itself_likelier() -> None:
    """Swelling was seen and told of what the zone hides; how often scale, swelling or a hole comes stays as without the tells."""
    zone = PLAN.zone("mc.ws.lower")
    now = desk(Finding(zone.id, "bubbling", "beauty-picture"), Finding(zone.id, "scale", "live-video", quality=0.9))
    draws = draw(now.posterior, 40_000, 3)
    recorded, table = Recorded(now, LEX), shown_chances(LEX, zone, 0.9)
    observation = of_picture(now, recorded, zone, draws, LEX, Photo(0.9, 1.0), table)
    alone = recorded.picture(zone, table, [one[0] for one in SHOWN])
    bad = observation.per_draw[4:7].sum(axis=0)
    assert bad.mean() == pytest.approx(float(now.zones[PLAN.index[zone.id]] @ alone[4:].sum(axis=0)), abs=0.02)
    hidden = draws.conditions[:, PLAN.index["mc.ws.inner"]] == HOLED
    assert bad[hidden].mean() > bad[~hidden].mean()
