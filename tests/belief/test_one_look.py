"""One look with the probe: its signs are not exclusive, it is one result, and asks foretell what the belief makes of it.

Checked against pyAgrum, a simulation of state -> signs -> report -> belief, and the law of total probability (Kolmogorov 1933,
Grundbegriffe der Wahrscheinlichkeitsrechnung, ch. 1 par. 4: P(B) = sum over i of P(A_i) P(B | A_i) for a partition A_i).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import permutations, product

import numpy as np
import pytest
from vehicles import TABLES, belief_about, probed, seen

from weldworth.belief.believe import log_odds, reasons
from weldworth.belief.looking import PROBED, chance_of, chances_of_sets, held, words_of, worst_first
from weldworth.belief.sight import lexicon, probe_sets, probe_signs
from weldworth.belief.sight import seen as through
from weldworth.evidence.records import Finding
from weldworth.vehicle.conditions import CONDITIONS

LEX = lexicon(TABLES)
ZONE = "mc.sill.outer.l"
BLIND = {"rings": 0.5, "dull": 0.04, "dents": 0.04, "goes-through": 0.002}
"""Chance of a result that the probe could not have shown, docs/method.md, "Evidence"."""
SHARP = [0.0, 0.2, 0.55, 0.8, 0.97, 1.0]


def reported(*said: tuple[str, bool], source: str = "own-lift", zone: str = ZONE) -> list[Finding]:
    """Records of one look with the probe."""
    return [Finding(zone, sign, source, absent=absent) for sign, absent in said]


@pytest.mark.parametrize("q", SHARP)
def test_every_sign_by_itself_counts_as_its_row_says(q: float) -> None:
    """P(sign reported | condition) = q P(sign | condition) + (1 - q) f, docs/method.md, "Evidence"."""
    for sign, absent in product(PROBED, (False, True)):
        alone = chance_of(PROBED, probe_sets(LEX, q), [(sign, absent)])
        assert alone == pytest.approx(through(LEX, LEX.signs[sign], q, absent=absent), abs=1e-12)


@pytest.mark.parametrize("q", SHARP)
def test_what_a_look_can_report_is_a_partition(q: float) -> None:
    sets, worst = probe_sets(LEX, q), worst_first(probe_signs(LEX, q))
    assert sets.sum(axis=0) == pytest.approx(np.ones(6), abs=1e-12)
    assert worst.sum(axis=0) == pytest.approx(np.ones(6), abs=1e-12)
    for row, words in zip(worst, words_of(PROBED), strict=True):
        assert row == pytest.approx(chance_of(PROBED, sets, words), abs=1e-12)
    fits = [
        [set(words) <= {(s, not h) for s, h in zip(PROBED, one, strict=True)} for words in words_of(PROBED)] for one in held(4)
    ]
    assert all(sum(one) == 1 for one in fits), "every set of signs fits the words of one result and of no other"


def test_a_table_that_leaves_no_room_beside_the_good_sign_still_gives_chances() -> None:
    crowded = np.array([[0.9] * 6, [0.5] * 6, [0.3] * 6, [0.0] * 6])
    sets = chances_of_sets(crowded)
    assert sets.min() >= 0 and sets.sum(axis=0) == pytest.approx(np.ones(6))
    assert worst_first(np.array([[1.0] * 6, [0.5] * 6]))[1:].tolist() == [[0.0] * 6] * 2


def test_what_a_look_says_agrees_with_a_network_in_pyagrum() -> None:
    """Condition -> rings; condition and rings -> each bad sign: the same by variable elimination, for every set of words."""
    gum = pytest.importorskip("pyagrum", reason="pyAgrum cannot be imported here", exc_type=ImportError)
    q, prior = 0.97, belief_about("coupe", []).zones[belief_about("coupe", []).plan.index[ZONE]]
    rows = {
        sign: q * LEX.signs[sign].chance + (1 - q) * blind for sign, blind in zip(PROBED, (0.5, 0.04, 0.04, 0.002), strict=True)
    }
    net = gum.BayesNet()
    condition = net.add(gum.LabelizedVariable("condition", "", 6))
    net.cpt(condition).fillWith(prior.tolist())
    nodes = {sign: net.add(gum.LabelizedVariable(sign, "", 2)) for sign in PROBED}
    net.addArc(condition, nodes["rings"])
    net.cpt(nodes["rings"])[:] = np.column_stack([1 - rows["rings"], rows["rings"]])
    for sign in PROBED[1:]:
        net.addArc(condition, nodes[sign])
        net.addArc(nodes["rings"], nodes[sign])
        for c in range(6):
            chance = rows[sign][c] / (1 - rows["rings"][c])
            net.cpt(nodes[sign])[{"condition": c, "rings": 0}] = [1 - chance, chance]
            net.cpt(nodes[sign])[{"condition": c, "rings": 1}] = [1.0, 0.0]
    engine = gum.VariableElimination(net)
    for values in product((None, False, True), repeat=4):
        said = {sign: value for sign, value in zip(PROBED, values, strict=True) if value is not None}
        if not said or (said.get("rings") and any(said.get(sign) for sign in PROBED[1:])):
            continue
        engine.setEvidence({nodes[sign]: int(value) for sign, value in said.items()})
        likelihood = chance_of(PROBED, probe_sets(LEX, q), [(sign, not value) for sign, value in said.items()])
        ours = prior * likelihood
        assert ours / ours.sum() == pytest.approx(engine.posterior(condition).toarray(), abs=1e-12), said


@pytest.mark.parametrize("source", ["own-lift", "inspector-lift", "inspector-ground"])
@pytest.mark.parametrize("before", [[], [seen("mc.quarter.low.l", "bubbling"), seen(ZONE, "original-paint")]])
def test_what_is_foretold_of_a_probe_is_what_the_desk_believes_once_it_is_recorded(source: str, before: list[Finding]) -> None:
    """And the beliefs after each result, weighed by its foretold chance, make the belief of now at every zone of the vehicle."""
    now = belief_about("coupe", before)
    z = now.plan.index[ZONE]
    mixed = np.zeros_like(now.zones)
    for row, words in zip(worst_first(probe_signs(LEX, LEX.sources[source].exposed)), words_of(PROBED), strict=True):
        after = belief_about("coupe", [*before, *reported(*words, source=source)]).zones
        chance = float(now.zones[z] @ row)
        assert after[z] == pytest.approx(now.zones[z] * row / chance, abs=1e-9), words
        mixed += chance * after
    assert mixed == pytest.approx(now.zones, abs=1e-9)


def test_ten_thousand_simulated_probes_leave_the_desk_as_sure_as_it_should_be() -> None:
    """Draw the condition, draw the signs, record all of them that are there and all that are not: among the vehicles that look
    alike to the desk each condition is as frequent as the desk believes. Also where only what is there is written down for the
    worst result."""
    rng = np.random.default_rng(20261127)
    now = belief_about("coupe", [], exposure=2.0)
    z, q = now.plan.index[ZONE], LEX.sources["own-lift"].exposed
    truth = rng.choice(6, size=10_000, p=now.zones[z])
    rows = np.array([q * LEX.signs[sign].chance + (1 - q) * blind for sign, blind in BLIND.items()])
    rings = rng.random(truth.size) < rows[0, truth]
    bad = (rng.random((3, truth.size)) < rows[1:, truth] / (1 - rows[0, truth])) & ~rings
    looks = Counter(zip(map(tuple, np.vstack([rings, bad]).T.tolist()), truth.tolist(), strict=True))
    for look in {look for look, _ in looks}:
        counts = np.array([looks[look, c] for c in range(6)])
        said = [(sign, not there) for sign, there in zip(PROBED, look, strict=True)]
        believed = belief_about("coupe", reported(*said), exposure=2.0).zones[z]
        error = np.sqrt(np.maximum(believed * (1 - believed), 1e-4) / counts.sum())
        assert np.all(np.abs(counts / counts.sum() - believed) < 4.5 * error), (look, counts)
    holed = truth == CONDITIONS.index("holed")
    share = bad[2, holed].mean()
    foretold = worst_first(probe_signs(LEX, q))[-1, CONDITIONS.index("holed")]
    assert share == pytest.approx(foretold, abs=4 * np.sqrt(foretold * (1 - foretold) / holed.sum()))


def test_the_order_of_recording_one_look_does_not_matter_and_another_look_is_damped() -> None:
    said = [("goes-through", True), ("dents", False), ("dull", False)]
    found = [belief_about("coupe", reported(*one)).of(ZONE) for one in permutations(said)]
    assert all(one == pytest.approx(found[0], abs=1e-12) for one in found)
    dull, through_it = reported(("dull", False)), reported(("goes-through", False))
    once = belief_about("coupe", dull + through_it)
    twice = belief_about("coupe", dull + [replace(one, source="own-ground") for one in through_it])
    assert sorted(piece.power for piece in once.pieces if piece.zone == ZONE) == [0.0, 1.0]
    assert sorted(piece.power for piece in twice.pieces if piece.zone == ZONE) == [0.5, 1.0]


def test_a_probe_that_goes_through_stands_whatever_rings_beside_it_and_whatever_was_not_there_before() -> None:
    """A zone is larger than a probe: one place rings, another gives way."""
    worst = belief_about("coupe", [probed(ZONE, "goes-through")]).of(ZONE)
    for said in ([("rings", False)], [("goes-through", True)]):
        assert belief_about("coupe", reported(("goes-through", False), *said)).of(ZONE) == pytest.approx(worst, abs=1e-12)


def test_a_dull_thud_alone_is_a_warning_and_no_more_than_a_patch_once_the_probe_holds() -> None:
    """Common practice, no source: a dull thud calls for the probe; where that neither dents nor goes through there is no hole."""
    holed = {
        words: belief_about("coupe", reported(*said)).of(ZONE)["holed"]
        for words, said in (("", ()), ("dull", (("dull", False),)), ("holds", words_of(PROBED)[2]))
    }
    assert holed["holds"] < holed[""] < holed["dull"]


def test_a_sign_of_a_look_taken_away_leaves_what_the_rest_of_it_says() -> None:
    said = [("goes-through", True), ("dents", False)]
    belief = belief_about("coupe", reported(*said))
    z = belief.plan.index[ZONE]
    moved = {reason.where: reason.moved for reason in reasons(belief, ZONE, TABLES)}
    for i, rest in ((0, said[1]), (1, said[0])):
        without = belief_about("coupe", reported(rest)).zones[z]
        assert moved[f"record {i}"] == pytest.approx(float(log_odds(belief.zones[z]) - log_odds(without)), abs=1e-9)
