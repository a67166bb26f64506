"""What asks foretell against what the belief makes of the same thing once it is recorded at the desk.

Posterior = prior x P(outcome | condition) / P(outcome) is Bayes' rule; that the posteriors weighed by P(outcome) make the prior
is the law of total probability (Kolmogorov 1933, Grundbegriffe der Wahrscheinlichkeitsrechnung, ch. 1 par. 4).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

import numpy as np
import pytest
from scipy.special import ndtri

from weldworth.asks.outcomes import (
    Photo,
    band_chances,
    of_picture,
    probe_chances,
    refused_chances,
    shown_chances,
    visit_reports,
)
from weldworth.asks.recorded import Recorded
from weldworth.asks.worth import Decision, Observation, worth_of_each, worth_of_visit
from weldworth.belief.answers import hear
from weldworth.belief.believe import Belief, believe
from weldworth.belief.draws import draw
from weldworth.belief.looking import PROBED, words_of
from weldworth.belief.sight import lexicon, seen
from weldworth.evidence.records import Finding, Reading
from weldworth.exposure.result import flat
from weldworth.tables import load_tables
from weldworth.vehicle.conditions import CONDITIONS, HOLED, SOUND
from weldworth.vehicle.plans import load_plan

TABLES = load_tables()
LEX = lexicon(TABLES)
PLAN = load_plan("coupe", TABLES)
ZONE = "mc.quarter.low.l"
"""An outer panel that hides metal."""


def desk(*records: Finding | Reading) -> Belief:
    """The belief about a coupe of usual life once these are recorded."""
    return believe(PLAN, flat(1.5, 0.2), records, TABLES, today=date(2026, 11, 1), heard=hear((), TABLES))


NOW = desk()
PRIOR = NOW.zones[PLAN.index[ZONE]]


def recorded(*said: tuple[str, bool], source: str = "own-lift", quality: float | None = None) -> list[Finding]:
    return [Finding(ZONE, sign, source, absent=absent, quality=quality) for sign, absent in said]


@pytest.mark.parametrize("q", [0.2, 0.5, 0.8, 0.95])
def test_a_probe_that_goes_through_sound_metal_is_as_rare_beforehand_as_when_reported(q: float):
    foretold = probe_chances(LEX, q)
    assert foretold.sum(axis=0) == pytest.approx(np.ones(6))
    reported = seen(LEX, LEX.signs["goes-through"], q, absent=False)
    assert foretold[-1, SOUND] == pytest.approx(reported[SOUND], rel=0.01)


@pytest.mark.parametrize("sign", ["rings", "goes-through"])
def test_a_probe_is_foretold_to_find_a_hole_as_often_as_the_table_says(sign: str):
    """P(goes through | holed) is 0.93 in signs.csv: 9 holes of 10, not one of two. Common practice, no source."""
    row = dict(zip(("rings", "nothing", *PROBED[1:]), probe_chances(LEX, 1.0), strict=True))[sign]
    assert row == pytest.approx(LEX.signs[sign].chance, abs=1e-12)
    assert probe_chances(LEX, 0.97)[-1, HOLED] > 0.9


@pytest.mark.parametrize("source", ["own-lift", "inspector-lift", "inspector-ground"])
def test_probing_is_worth_what_the_desk_would_earn_by_it(source: str):
    """Every report of the probe recorded at the desk, the decision taken on the belief that comes out, paid by what is true."""
    chances = probe_chances(LEX, LEX.sources[source].exposed)
    gain = np.array([900.0, 500.0, -700.0, -2500.0, 600.0, -3000.0])
    payoff = gain[:, None] - PRIOR @ gain - np.array([-200.0, 0.0, 200.0])
    price = np.array([0.3, 0.4, 0.3])
    earned = -np.maximum(PRIOR @ payoff, 0) @ price
    for row, words in zip(chances, words_of(PROBED), strict=True):
        believed = desk(*recorded(*words, source=source)).zones[PLAN.index[ZONE]]
        bought = believed @ payoff > 0
        earned += ((PRIOR * row) @ payoff * bought) @ price
    weighed = Decision(payoff * PRIOR[:, None] * 6, price)
    [foretold] = worth_of_each(weighed, [Observation(np.arange(6), chances)])
    assert foretold.gain == pytest.approx(earned, rel=1e-6) and earned > 0


@pytest.mark.parametrize("quality", [0.9, 0.75, 0.6])
@pytest.mark.parametrize("zone", [ZONE, "mc.apron.l"])
@pytest.mark.parametrize(("row", "sign"), [(0, "original-paint"), (-1, "hole")])
def test_clean_paint_and_a_hole_are_foretold_as_the_desk_reads_them(quality: float, zone: str, row: int, sign: str):
    """The first zone rusts from inside: its outer face clears less."""
    shown, before = shown_chances(LEX, PLAN.zone(zone), quality), NOW.zones[PLAN.index[zone]]
    assert shown.sum(axis=0) == pytest.approx(np.ones(6)) and shown.min() >= 0
    after = desk(Finding(zone, sign, "asked-picture", quality=quality)).zones[PLAN.index[zone]]
    assert before * shown[row] / (before @ shown[row]) == pytest.approx(after, abs=1e-9)


def test_each_sign_of_a_picture_is_foretold_as_often_as_the_table_says_where_no_worse_one_is_seen():
    """By counting every set of signs of a picture: where the paint is not clean they are independent given the condition."""
    eye = {sign: 0.9 * LEX.signs[sign].chance + 0.1 * blind for blind, signs in BLIND.items() for sign in signs}
    clean = eye.pop("original-paint")
    place = {"surface-rust": 2, "patch": 3, "filler": 3, "fresh-coating": 3, "bubbling": 4, "scale": 5, "hole": 6}
    counted = np.vstack([clean, np.zeros((6, 6))])
    for there in product((False, True), repeat=len(eye)):
        rows = [eye[sign] / (1 - clean) if here else 1 - eye[sign] / (1 - clean) for sign, here in zip(eye, there, strict=True)]
        worst = max((place[sign] for sign, here in zip(eye, there, strict=True) if here), default=1)
        counted[worst] += (1 - clean) * np.prod(rows, axis=0)
    assert shown_chances(LEX, PLAN.zone("mc.apron.l"), 0.9) == pytest.approx(counted, abs=1e-12)


BLIND = {
    0.5: ("original-paint",),
    0.04: ("surface-rust", "patch", "filler", "fresh-coating", "bubbling", "scale"),
    0.001: ("hole",),
}
"""Chance of a sign that the picture could not have shown, docs/method.md, "Evidence"."""


def foretold(delivered: float, zone: str = ZONE, tell: float = 0.6) -> tuple[Observation, np.ndarray]:
    draws = draw(NOW.posterior, 40_000, 3)
    lex = replace(LEX, damping={**LEX.damping, "tell": tell})
    shown = shown_chances(LEX, PLAN.zone(zone), 0.9)
    return of_picture(NOW, Recorded(NOW, lex), PLAN.zone(zone), draws, lex, Photo(0.9, delivered), shown), draws.conditions[
        :, PLAN.index[zone]
    ]


@pytest.mark.parametrize("delivered", [0.95, 0.75, 0.5])
def test_a_picture_comes_as_often_as_the_table_says_and_its_absence_tells_what_the_desk_makes_of_it(delivered: float):
    missing = refused_chances(LEX.signs["not-shown"].chance, delivered, PRIOR, LEX.sight["least_delivered"])
    assert PRIOR @ missing == pytest.approx(1 - delivered)
    after = desk(*recorded(("not-shown", False), source="asked-picture")).zones[PLAN.index[ZONE]]
    assert PRIOR * missing / (PRIOR @ missing) == pytest.approx(after, abs=1e-9)
    observation, _ = foretold(delivered)
    assert observation.per_draw.sum(axis=0) == pytest.approx(np.ones(40_000))
    assert observation.per_draw[-1].mean() == pytest.approx(1 - delivered, abs=0.01)


def test_where_there_is_next_to_nothing_to_hide_a_picture_still_comes_now_and_then():
    sure = np.array([1.0, 0, 0, 0, 0, 0])
    missing = refused_chances(LEX.signs["not-shown"].chance, 0.0, sure, 0.05)
    assert missing.max() <= 0.95 and missing / missing[0] == pytest.approx(
        LEX.signs["not-shown"].chance / LEX.signs["not-shown"].chance[0]
    )


def test_what_a_picture_tells_of_hidden_metal_leaves_what_it_shows_of_the_zone_itself():
    """Scale, swelling or a hole on the zone: as often as without any tell, while the hidden metal is likelier bad after them."""
    observation, own = foretold(1.0)
    shown = shown_chances(LEX, PLAN.zone(ZONE), 0.9)
    for condition in range(6):
        found = observation.per_draw[:, own == condition][4:7].sum(axis=0).mean()
        assert found == pytest.approx(shown[4:, condition].sum(), abs=0.04), CONDITIONS[condition]
    conditions = draw(NOW.posterior, 40_000, 3).conditions[:, PLAN.index["mc.trunk.drop.l"]]
    without, _ = foretold(1.0, tell=0.0)
    bad = [np.average(conditions == HOLED, weights=one.per_draw[5]) for one in (without, observation)]
    assert bad[1] > bad[0]


@pytest.mark.parametrize(("band", "micrometres"), [(0, 150), (1, 300), (2, 650)])
def test_a_coating_reading_is_foretold_as_the_desk_reads_it(band: int, micrometres: float):
    chances = band_chances(LEX, ("coating-thin", "coating-repaint", "coating-filler"), q=0.9, delivered=0.3)
    assert chances.sum(axis=0) == pytest.approx(np.ones(6)) and chances.min() >= 0
    after = desk(Reading(ZONE, "coating", micrometres / 1000, "seller-answer", micrometres, "um")).zones[PLAN.index[ZONE]]
    assert PRIOR * chances[band] / (PRIOR @ chances[band]) == pytest.approx(after, abs=1e-9)


@pytest.mark.parametrize("thin", [True, False])
def test_a_wall_reading_is_foretold_as_the_desk_reads_one_that_is_nine_tenths_clear(thin: bool):
    """Thin with probability 0.95: a wall 1.645 blurs of the gauge (0.08) from seven tenths of its sheet; normal table."""
    zone = "mc.rail.rear.l"
    chances = band_chances(LEX, ("wall-thin",), q=0.9, delivered=0.1)
    sheet = float(np.mean(PLAN.zone(zone).thickness_mm))
    ratio = LEX.readings["thin_below"] + (-1 if thin else 1) * ndtri(0.95) * LEX.readings["wall_blur"]
    after = desk(Reading(zone, "wall", ratio * sheet, "own-lift", ratio * sheet, "mm")).zones[PLAN.index[zone]]
    before = NOW.zones[PLAN.index[zone]]
    row = chances[0 if thin else 1]
    assert before * row / (before @ row) == pytest.approx(after, abs=1e-9)


LIFT = LEX.sources["inspector-lift"]


def test_an_inspection_is_worth_what_its_one_look_that_matters_is_worth():
    """All zones probed, one alone decides: the exact worth of that look (Raiffa, Schlaifer 1961), less what few draws teach."""
    draws = draw(NOW.posterior, 16_384, 3)
    condition = draws.conditions[:, PLAN.index[ZONE]]
    payoff = np.array([900.0, 500.0, -700.0, -2500.0, 600.0, -3000.0])[condition]
    decision = Decision((payoff - payoff.mean() + 100)[:, None], np.ones(1))
    [exact] = worth_of_each(decision, [Observation(condition.astype(np.intp), probe_chances(LEX, LIFT.exposed))])
    found = worth_of_visit(decision, visit_reports(NOW, Recorded(NOW, LEX), 4, LIFT, draws, LEX, decision.payoff[:, 0], 3))
    assert 0.85 * exact.gain < found.gain < 1.05 * exact.gain


@pytest.mark.parametrize("seed", range(4))
def test_an_inspection_that_tells_nothing_is_worth_next_to_nothing(seed: int):
    """The payoff comes from the generator of the same seed, as resale and bill do: the luck of the looks is not theirs."""
    draws = draw(NOW.posterior, 4096, seed + 10)
    payoff = 5000 * (np.random.default_rng(seed).random(4096) - 0.5)
    decision = Decision(payoff[:, None], np.ones(1))
    found = worth_of_visit(decision, visit_reports(NOW, Recorded(NOW, LEX), 4, LIFT, draws, LEX, payoff, seed))
    assert found.gain < 0.1 * (decision.perfect - decision.value)
