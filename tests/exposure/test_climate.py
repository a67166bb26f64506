"""What steel loses in each climate, against steel that was hung out and weighed, and against the published formula."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt

import pytest

from weldworth.exposure.corrosion import first_year_rate, loss
from weldworth.exposure.history import Residence
from weldworth.exposure.life import live
from weldworth.exposure.places import find_place
from weldworth.exposure.rates import rate_at, read_rates
from weldworth.exposure.result import CHANNELS
from weldworth.tables.load import load_tables

TABLES = load_tables()
KNOWN = read_rates(TABLES)

# Air of a station in each dry class: degC and % humidity, means of the year. Humidity 1961-1990 by currentresults.com (cities
# with low humidity), Phoenix's temperature by ncdc.noaa.gov (extremes in U.S. climate); the other temperatures, and all of BWk,
# from memory.
AIR = [("BWh", 0, 23.4, 36.6), ("BWk", 0, 15, 42), ("BSh", 0, 20.4, 38.3), ("BSh", 300, 17.6, 60.5), ("BSk", 0, 10.1, 52.0)]


@pytest.mark.parametrize(("climate", "rain", "t", "rh"), AIR)
def test_dry_classes_stand_at_what_the_formula_makes_of_their_air(climate: str, rain: float, t: float, rh: float) -> None:
    # ISO 9223:2012 equation 1; SO2 4 mg/(m2 d), where Table B.3 has country air end and city air begin; the least chloride
    (row,) = [row for row in KNOWN.classes[climate] if row.rain_from_mm == rain]
    assert row.um == pytest.approx(first_year_rate(t, rh, 4, 0.4), abs=0.06)


# First-year loss of bare steel in dry air, um. Lowest: the driest of more than 100 South African sites, Droerivier in the
# Karoo (Janse van Rensburg, Cornish and van der Merwe 2019, S. Afr. J. Sci. 115(7/8)). Middle: 1 to 2 um a year over seven
# years in far-western Queensland, which is so much in the first year by ISO 9224 (Australasian Corrosion Association,
# "Atmospheric corrosion of mild steel in a desert environment"). Highest: Phoenix, 4.6 um a year over two years (ASTM STP 435,
# 1968; from memory), likewise.
KAROO = 1.3
QUEENSLAND = tuple(7 * mean / loss(1, 7, 0.523) for mean in (1, 2))
PHOENIX = 2 * 4.6 / loss(1, 2, 0.523)


@pytest.mark.parametrize("town", ["Phoenix, AZ", "Tucson, AZ", "Yuma, AZ", "Las Vegas, NV"])
def test_the_hot_desert_loses_what_measured_deserts_lost(town: str) -> None:
    um = rate_at(find_place(town, TABLES), None, KNOWN).um
    assert KAROO < um < PHOENIX
    assert QUEENSLAND[0] < um < QUEENSLAND[1]


# First-year loss at test sites of the ISO CORRAG programme, um, as printed by the American Galvanizers Association
# ("Atmospheric corrosion data", galvanizeit.org); positions of the towns from memory. Only sites away from the sea and from
# smelters, and not Buenos Aires (16.2) and Iguazu (5.8), which lost less than half of what their class is taken to lose.
SITES = [
    ("Crowthorne", (51.37, -0.80), 37.4),
    ("Bergisch Gladbach", (50.99, 7.14), 36.2),
    ("Kasperske Hory", (49.14, 13.55), 26.0),
    ("Boucherville", (45.60, -73.45), 23.2),
    ("El Pardo", (40.52, -3.77), 15.5),
    ("Ahtari", (62.55, 24.07), 12.8),
]


@pytest.mark.parametrize(("site", "at", "um"), SITES, ids=[site[0] for site in SITES])
def test_wetter_climates_lose_what_the_world_programme_weighed(site: str, at: tuple[float, float], um: float) -> None:
    # the standard states -33 % to +50 % for a rate by its formula (from memory); a class of climate can do no better
    assert 0.67 <= rate_at(find_place(at, TABLES), None, KNOWN).um / um <= 1.5, site


def test_the_reference_place_is_a_temperate_town_by_the_formula() -> None:
    # ISO 9223:2012 Table B.3: city air is 4 to 24 mg/(m2 d) of SO2; its middle on a log scale, 10 degC and 80 %
    assert first_year_rate(10, 80, sqrt(4 * 24), 0.4) == pytest.approx(30, rel=0.02)


def test_the_drier_the_place_the_less_the_same_life_costs() -> None:
    # humidity 37, 38, 52 and 65 % (1961-1990, currentresults.com), then the temperate reference, then salted roads
    places = ["Phoenix, AZ", "Tucson, AZ", "Denver, CO", "Dallas, TX", "Cleveland, OH"]
    lives = [
        live([Residence(place, 1964, storage="garage", salted_winters=winters)], built=1964, until=2026, tables=TABLES)
        for place, winters in zip(places, (0, 0, 0, 0, 20), strict=True)
    ]
    for drier, wetter in pairwise(lives):
        for channel in CHANNELS:
            assert drier.open_air[channel] <= wetter.open_air[channel], channel
            assert drier.sheltered[channel] <= wetter.sheltered[channel], channel
