"""The same vehicle, seen by nobody, in drier and wetter places: it may never be believed darker where it is drier."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from vehicles import TABLES, TODAY

from weldworth.belief.answers import hear
from weldworth.belief.believe import Belief, believe
from weldworth.belief.draws import draw
from weldworth.bill import default_terms, price
from weldworth.exposure.history import Residence
from weldworth.exposure.life import live
from weldworth.vehicle.conditions import HOLED, MASKED, PITTED
from weldworth.vehicle.plans import load_plan

PLACES = ("Phoenix, AZ", "Tucson, AZ", "Denver, CO", "Dallas, TX")
"""Humidity 37, 38, 52 and 65 % in the mean of 1961-1990 (currentresults.com, cities with low humidity)."""


def unseen(body: str, place: str) -> Belief:
    """In a garage of that place since 1964, no salted winters, papers, nothing seen."""
    home = Residence(place, 1964, storage="garage", ground="concrete", salted_winters=0, papers=True)
    exposure = live([home], built=1964, until=2026, tables=TABLES)
    return believe(load_plan(body, TABLES), exposure, [], TABLES, today=TODAY, heard=replace(hear((), TABLES), repaired=0.25))


def test_no_zone_is_worse_in_the_drier_place() -> None:
    # a wider doubt about a dry place may not overtake the difference between places
    for drier, wetter in pairwise(unseen("coupe", place) for place in PLACES):
        for bad in ([PITTED, HOLED, MASKED], [HOLED, MASKED]):
            worse = drier.zones[:, bad].sum(axis=1) - wetter.zones[:, bad].sum(axis=1)
            assert worse.max() < 0.005, drier.plan.zones[int(worse.argmax())].id


def test_the_drier_the_place_the_smaller_the_bill_at_every_tenth() -> None:
    bills = []
    for place in PLACES:
        belief = unseen("pickup", place)
        draws = draw(belief.posterior, 1000, seed=1)
        total = price(belief.plan, draws.conditions, default_terms(TABLES), TABLES, seed=1).total
        bills.append([float(total.mean()), *np.percentile(total, (10, 50, 80))])
    for drier, wetter in pairwise(bills):
        assert all(less <= 1.02 * more for less, more in zip(drier, wetter, strict=True))
    # the hot desert, 37 % against 65 %: an eighth of the metal's loss, so well under half of the bill
    assert bills[0][0] < bills[3][0] / 2
