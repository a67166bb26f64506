"""Places without a network: postal codes, towns, coordinates; climate, warmth and distance to the sea."""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.exposure.atlas import distance_km, plain_name, read_coast, read_towns
from weldworth.exposure.places import find_place
from weldworth.tables.load import load_tables

TABLES = load_tables()
TOWNS = read_towns(TABLES.path("places/towns.npz"))


@pytest.mark.parametrize(
    ("given_text", "climate"),
    [
        # Koeppen-Geiger classes as commonly printed for these cities (Rubel, Brugger, Haslinger and Auer 2017)
        ("Miami, FL", "Am"),
        ("Chicago, IL", "Dfa"),
        ("Phoenix, AZ", "BWh"),
        ("Seattle, WA", "Csb"),
        ("Denver, CO", "BSk"),
        ("Atlanta, GA", "Cfa"),
        ("San Francisco, CA", "Csb"),
        ("51.5, -0.1", "Cfb"),  # London
        ("55.75, 37.6", "Dfb"),  # Moscow
        ("30.05, 31.25", "BWh"),  # Cairo
        ("1.35, 103.8", "Af"),  # Singapore
    ],
)
def test_climate_class_of_well_known_cities(given_text: str, climate: str) -> None:
    assert find_place(given_text, TABLES).climate == climate


@pytest.mark.parametrize(
    ("given_text", "degrees"),
    [
        ("Phoenix, AZ", 24),
        ("Minneapolis, MN", 8),
        ("Miami, FL", 25),
        ("Chicago, IL", 10.5),
        ("51.5, -0.1", 11),
        ("Honolulu, HI", 25),
        ("64.8, -147.7", -2),
    ],
)
def test_mean_temperature_of_the_year_is_near_the_usual_figure(given_text: str, degrees: float) -> None:
    # usual yearly means of these cities, from memory, within 2.5 degrees
    assert find_place(given_text, TABLES).temperature_c == pytest.approx(degrees, abs=2.5)


@pytest.mark.parametrize(
    ("given_text", "low", "high"),
    [
        # distances read off a map, common knowledge: the shore is at the door, or a day's drive away
        ("Ocean City, MD", 0, 3),
        ("Miami Beach, FL", 0, 3),
        ("Galveston, TX", 0, 5),
        ("Santa Monica, CA", 0, 5),
        ("Sacramento, CA", 70, 160),
        ("Chicago, IL", 700, 1100),  # a lake is not the sea
        ("Duluth, MN", 600, 1300),  # neither is Lake Superior
        ("41.65, -83.5", 500, 800),  # nor Lake Erie
        ("Denver, CO", 1000, 1500),
        ("40.4, 49.9", 300, 900),  # Baku: the Caspian is inland water
        ("-25.34, 131.03", 500, 1000),  # middle of Australia
    ],
)
def test_distance_to_the_sea(given_text: str, low: float, high: float) -> None:
    assert low <= find_place(given_text, TABLES).sea_km <= high


def test_a_harbour_is_not_the_open_sea() -> None:
    assert find_place("Seattle, WA", TABLES).sea_km > 10  # on a narrow sound
    assert find_place("Atlantic City, NJ", TABLES).sea_km < 5  # on the ocean


@pytest.mark.parametrize("code", ["48201", "04101", "33139", "80202", "97201", "99501", "70112"])
def test_the_shipped_distance_of_a_postal_code_agrees_with_the_coast_file(code: str) -> None:
    place = find_place(code, TABLES)
    coast = read_coast(TABLES.path("places/coast.npz"))
    assert coast.distance_km(place.lat, place.lon) == pytest.approx(place.sea_km, abs=0.15, rel=1e-3)


@given(st.floats(-85, 85), st.floats(-180, 180), st.floats(-85, 85), st.floats(-180, 180))
def test_distances_agree_with_the_geodesic_on_the_ellipsoid(lat: float, lon: float, lat2: float, lon2: float) -> None:
    # GeographicLib (Karney 2013) on WGS 84; a sphere is off by 0.6 % at most
    exact = Geodesic.WGS84.Inverse(lat, lon, lat2, lon2)["s12"] / 1000
    assert distance_km(lat, lon, np.array([lat2]), np.array([lon2]))[0] == pytest.approx(exact, rel=0.006, abs=0.01)


def test_a_postal_code_its_long_form_and_its_town_are_one_place() -> None:
    by_code, long, by_town = (find_place(text, TABLES) for text in ("04101", "04101-1234", "Portland, ME"))
    assert by_code == long and by_code.state == by_town.state == "ME" and by_code.salted
    assert abs(by_code.lat - by_town.lat) < 0.1 and abs(by_code.lon - by_town.lon) < 0.1


@pytest.mark.parametrize(
    "text", ["St. Louis, MO", "saint louis, mo", "St Louis MO", "St. Louis, Missouri", "SAINT LOUIS, MO 63101"]
)
def test_a_town_may_be_written_in_the_usual_ways(text: str) -> None:
    place = find_place(text, TABLES)
    assert place.state == "MO" and place.lat == pytest.approx(38.63, abs=0.1)


def test_coordinates_in_a_text_or_as_numbers_are_the_same_and_take_the_nearest_towns_state() -> None:
    place = find_place("42.35, -83.06", TABLES)
    assert place == find_place((42.35, -83.06), TABLES)
    assert place.state == "MI" and place.salted is True and "Detroit" in place.name


def test_outside_the_united_states_salt_on_roads_is_open_where_it_freezes_and_ruled_out_where_it_is_warm() -> None:
    assert find_place((55.75, 37.6), TABLES).salted is None
    assert find_place((-33.87, 151.2), TABLES).salted is False


def test_published_salt_states_are_salted() -> None:
    # union of the salt-state lists of the US road safety agency (NHTSA) of 2009 (frame recall) and 2015 (brake lines)
    rows = TABLES.rows("exposure_states.csv", ("state", "name", "salted"))
    published = {row.text("state") for row in rows if row.text("basis") == "published"}
    listed = "CT DE IL IN KY ME MD MA MI MN NH NJ NY OH PA RI VT VA WV WI DC IA MO"
    assert " ".join(sorted(published)) == " ".join(sorted(listed.split()))
    assert all(row.text("salted") == "yes" for row in rows if row.text("state") in published)


def test_every_state_of_the_town_list_has_its_row_and_every_town_a_climate() -> None:
    rows = {row.text("state") for row in TABLES.rows("exposure_states.csv", ("state", "name", "salted"))}
    assert set(TOWNS.state) <= rows
    assert all(find_place(f"{int(code):05d}", TABLES).climate != "sea" for code in TOWNS.code[:: len(TOWNS.code) // 200])


@pytest.mark.parametrize("lat_lon", [(35.9, 14.5), (37.74, -25.67), (-20.2, 57.5), (28.1, -15.4)])
def test_small_islands_are_land(lat_lon: tuple[float, float]) -> None:
    assert find_place(lat_lon, TABLES).sea_km < 30  # Malta, Azores, Mauritius, Gran Canaria


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("4820", "all five"),
        ("48299", "nearest: 48301"),
        ("99999", "nearest: 99950"),
        ("Detriot, MI", "nearest: 'Detroit'"),
        ("Toronto, ON", "latitude and longitude"),
        ("Springfield", "has no state"),
        ("Arizona", "whole state"),
        ("Qqqqqq", "not known here"),
        ("Qqqqqq, MI", "not known in Michigan"),
        ("30, -40", "open sea"),
        ("91, 0", "latitude 91"),
        ("45, 181", "longitude 181"),
    ],
)
def test_a_place_that_cannot_be_found_is_refused_with_the_remedy(text: str, told: str) -> None:
    with pytest.raises(BadInput, match=told):
        find_place(text, TABLES, where="candidate.toml: history 1")


def test_coordinates_that_are_no_numbers_are_refused_both_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        find_place((float("nan"), float("inf")), TABLES)
    assert len(caught.value.problems) == 2


def test_plain_names_meet_across_spellings() -> None:
    assert plain_name("Ft. Wayne") == plain_name("FORT WAYNE") and plain_name("Winston-Salem") == plain_name("Winston Salem")


def test_the_place_data_stays_small() -> None:
    assert sum(TABLES.path(f"places/{name}.npz").stat().st_size for name in ("towns", "climate", "coast")) < 3_000_000
