"""Evidence before it reaches the engine: sight, damping, ageing, readings, refusals."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from vehicles import TABLES, belief_about, network_of, probed, seen

from weldworth.belief.believe import log_odds, reasons
from weldworth.belief.sight import aged, lexicon
from weldworth.belief.sight import seen as through
from weldworth.core.errors import BadInput
from weldworth.evidence.records import Finding, Reading, standing

ZONE = "mc.quarter.low.l"
LEX = lexicon(TABLES)


def loss(*records: Finding | Reading, zone: str = ZONE, **more: float) -> float:
    belief = belief_about("coupe", list(records), **more)
    return float(belief.zones[belief.plan.index[zone], [2, 3, 5]].sum())


def test_a_useless_look_says_nothing():
    for sign in ("bubbling", "original-paint", "hole", "filler"):
        for absent in (False, True):
            likelihood = through(LEX, LEX.signs[sign], 0.0, absent=absent)
            assert np.ptp(likelihood) < 1e-12


def test_absence_is_only_as_strong_as_the_picture():
    blurred = loss(seen(ZONE, "bubbling", quality=0.2, absent=True))
    sharp = loss(seen(ZONE, "bubbling", quality=0.95, absent=True))
    assert sharp < blurred < loss()


def test_praise_is_worth_little_and_an_admission_a_lot():
    """Praise in general words: odds about x0.75; an admission: x8 to 20. Common practice, no source."""
    chance = {
        sign: through(LEX, LEX.signs[sign], LEX.sources["seller-word"].exposed, absent=False)
        for sign in ("original-paint", "hole")
    }
    assert 0.6 < chance["original-paint"][3] / chance["original-paint"][0] < 0.85
    assert chance["hole"][3] / chance["hole"][0] > 5


def test_the_same_sign_twice_counts_for_less_than_two_signs_and_more_than_one():
    once, twice = loss(seen(ZONE, "bubbling")), loss(seen(ZONE, "bubbling"), seen(ZONE, "bubbling", "video"))
    assert once < twice
    odds = [np.log(p / (1 - p)) for p in (loss(), once, twice)]
    assert odds[2] - odds[1] < 0.6 * (odds[1] - odds[0])


def test_a_thing_said_again_by_the_same_changes_nothing_and_the_sharper_look_stands():
    once, sharp = seen(ZONE, "bubbling", quality=0.3), seen(ZONE, "bubbling", quality=0.8)
    assert loss(once, once, once) == loss(once)
    assert loss(once, sharp) == loss(sharp, once) == loss(sharp)
    assert loss(once, replace(once, picture="a.jpg")) > loss(once), "another picture is another look"


def test_a_hundred_pictures_of_one_blister_do_not_make_it_certain():
    pictures = [replace(seen(ZONE, "staining"), picture=f"{number}.jpg") for number in range(100)]
    few, many = loss(*pictures[:3]), loss(*pictures)
    assert many < 0.97
    assert many - few < 0.06


def test_an_old_picture_of_good_metal_clears_less_than_a_new_one():
    network = network_of("coupe")
    clean = LEX.signs["original-paint"].chance
    fresh, old = aged(LEX, network, 5, clean, 0.0), aged(LEX, network, 5, clean, 0.7)
    assert fresh[:4] == pytest.approx(clean[:4])
    assert clean[0] / clean[3] > old[0] / old[3] > 1


def test_an_old_picture_of_bad_metal_still_speaks_of_what_a_repair_hides_today():
    network = network_of("coupe")
    bubbling = LEX.signs["bubbling"].chance
    old = aged(LEX, network, 5, bubbling, 0.3)
    assert old[4] > 5 * bubbling[4]
    assert old[3] > old[0]


def test_a_picture_taken_half_a_year_ago_is_aged_and_one_of_last_month_is_not():
    recent = belief_about("coupe", [seen(ZONE, "original-paint", seen_on=date(2026, 10, 1))])
    undated = belief_about("coupe", [seen(ZONE, "original-paint")])
    assert np.array_equal(recent.zones, undated.zones)


@pytest.mark.parametrize(("micrometres", "likelier"), [(110, "sound"), (300, "mended"), (900, "masked")])
def test_a_coating_reading_points_where_its_band_does(micrometres, likelier):
    reading = Reading(ZONE, "coating", micrometres / 1000, "own-ground", micrometres, "um")
    before, after = belief_about("coupe", []).of(ZONE), belief_about("coupe", [reading]).of(ZONE)
    assert max(after, key=lambda c: after[c] / before[c]) == likelier


def test_a_thin_wall_makes_metal_loss_likely_and_a_full_one_unlikely():
    zone = "mc.rail.rear.l"
    thickness = np.mean(belief_about("coupe", []).plan.zone(zone).thickness_mm)
    thin = Reading(zone, "wall", 0.55 * thickness, "own-lift", 0.55 * thickness, "mm")
    full = replace(thin, value_mm=thickness, value=thickness)
    assert loss(thin, zone=zone) > 0.85 > loss(zone=zone) > loss(full, zone=zone)


def test_a_wide_door_gap_raises_the_metal_behind_it_and_an_even_one_lowers_it():
    wide = Reading("mc.gap.l", "door-gap", 5.0, "own-ground", 5.0, "mm")
    even = replace(wide, value_mm=0.5, value=0.5)
    zone = "mc.apost.l"
    assert loss(even, zone=zone) < loss(zone=zone) < loss(wide, zone=zone)
    assert loss(wide, zone="mc.apost.r") < loss(wide, zone=zone)


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (seen("mc.quarter.lo.l", "bubbling"), ["mc.quarter.lo.l", "nearest: 'mc.quarter.low.l'"]),
        (seen(ZONE, "bubling"), ["bubling", "nearest: 'bubbling'"]),
        (seen(ZONE, "bubbling", "asked-pictur"), ["asked-pictur", "nearest: 'asked-picture'"]),
        (Reading(ZONE, "thickness", 1.0, "own-ground"), ["thickness"]),
        (Reading("mc.gap.x", "door-gap", 1.0, "own-ground"), ["mc.gap.x", "mc.gap"]),
    ],
)
def test_a_word_that_is_not_known_is_refused_with_the_nearest(record, words):
    with pytest.raises(BadInput) as refused:
        belief_about("coupe", [record])
    for word in words:
        assert word in str(refused.value)
    assert refused.value.problems[0].where == "record 0"


def test_every_bad_record_is_told_in_one_run():
    with pytest.raises(BadInput) as refused:
        belief_about("coupe", [seen("mc.nothing", "bubbling"), seen(ZONE, "shiny"), seen(ZONE, "bubbling", "a friend")])
    assert [problem.where for problem in refused.value.problems] == ["record 0", "record 1", "record 2"]


@pytest.mark.parametrize(("change", "words"), [({"quality": 1.5}, "outside 0..1"), ({"region": (5, 5, 5, 9)}, "upside down")])
def test_a_finding_that_contradicts_itself_is_refused(change, words):
    with pytest.raises(BadInput, match=words):
        Finding(ZONE, "bubbling", "asked-picture", **change)


def test_the_reasons_of_a_zone_name_what_moved_it_strongest_first():
    records = [seen(ZONE, "bubbling"), seen("mc.hood", "original-paint"), probed("mc.sill.outer.l")]
    belief = belief_about("coupe", records)
    found = reasons(belief, ZONE, TABLES)
    assert found[0].where == "record 0"
    assert found[0].moved > 0
    assert all(abs(a.moved) >= abs(b.moved) for a, b in pairwise(found))
    alone = belief_about("coupe", records[1:])
    whole = log_odds(belief.zones[belief.plan.index[ZONE]]) - log_odds(alone.zones[alone.plan.index[ZONE]])
    assert found[0].moved == pytest.approx(float(whole), abs=1e-6)


def test_only_the_latest_of_a_chain_of_corrections_stands():
    first = Finding(ZONE, "hole", "video", where="finding 1")
    second = Finding(ZONE, "bubbling", "video", where="finding 2", replaces="finding 1")
    third = Finding(ZONE, "staining", "video", where="finding 3", replaces="finding 2")
    assert standing([first, second, third]) == [third]
