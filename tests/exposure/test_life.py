"""A life as loss of metal: the anchors of the trade, and directions that must hold."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.exposure.corrosion import loss
from weldworth.exposure.history import Air, Residence
from weldworth.exposure.life import live
from weldworth.exposure.rates import read_rates, salt_of_the_sea
from weldworth.exposure.result import CHANNELS, Exposure
from weldworth.tables.load import load_tables

TABLES = load_tables()
OXFORD = (51.75, -1.25)
STORAGES = ("outside", "carport", "barn-dirt", "barn-dry", "garage", "garage-heated")


def lived(*residences: Residence, built: float = 1976, until: float = 2026) -> Exposure:
    return live(residences, built=built, until=until, tables=TABLES)


def bottom(*residences: Residence) -> float:
    return lived(*residences).open_air["bottom"]


# Anchors: common practice, no source. The trade's 0.35 for a whole life in the dry holds for the high plains; for the hot
# desert measured steel says less (test_climate.py).
@pytest.mark.parametrize(
    ("residence", "low", "high"),
    [
        (Residence("Albuquerque, NM", 1976, papers=True), 0.3, 0.45),
        (Residence("Sacramento, CA", 1976), 0.55, 0.65),
        (Residence(OXFORD, 1976, salted_winters=0), 0.95, 1.05),
        (Residence("Atlanta, GA", 1976), 1.05, 1.15),
        (Residence((51.19, -4.2), 1976, salted_winters=0), 1.6, 1.8),  # a temperate surf coast
        (Residence("Detroit, MI", 1976, storage="outside", ground="concrete", salted_winters=50), 2.5, 3.0),
        (Residence("Grand Rapids, MI", 1976, storage="outside", ground="concrete", salted_winters=50), 2.5, 3.0),
    ],
)
def test_a_constant_life_meets_the_trades_anchor(residence: Residence, low: float, high: float) -> None:
    assert low <= bottom(residence) <= high


def test_winters_laid_up_cost_little_and_winters_driven_much() -> None:
    driven, laid_up = (bottom(Residence("Detroit, MI", 1976, storage="garage", salted_winters=count)) for count in (50, 0))
    assert driven / laid_up == pytest.approx(2.5 / 1.2)


@pytest.mark.parametrize("years", [10.0, 25.0, 50.0, 80.0])
def test_a_constant_life_grows_with_the_power_law_of_the_standard(years: float) -> None:
    # ISO 9224:2012: loss goes with t**0.523 in the open; a cavity with about t**1 (Benarie and Lipfert 1986, Table 2)
    exposure = lived(Residence(OXFORD, 2026 - years, salted_winters=0), built=2026 - years)
    assert exposure.open_air["bottom"] == pytest.approx(loss(1, years, 0.523) / loss(1, 50, 0.523))
    assert exposure.sheltered["bottom"] == pytest.approx(years / 50)


@given(st.sampled_from(STORAGES), st.sampled_from(["concrete", "grass", None]), st.integers(0, 40), st.floats(1980, 2024))
@settings(max_examples=40)
def test_cutting_a_stay_in_two_changes_nothing(storage: str, ground: str | None, winters: int, cut: float) -> None:
    whole = Residence("Detroit, MI", 1976, 2026, storage=storage, ground=ground, salted_winters=float(winters))
    first = replace(whole, end=cut, salted_winters=winters * (cut - 1976) / 50)
    second = replace(whole, start=cut, salted_winters=winters * (2026 - cut) / 50)
    one, two = lived(whole), lived(first, second)
    for channel in CHANNELS:
        assert two.open_air[channel] == pytest.approx(one.open_air[channel])
        assert two.sheltered[channel] == pytest.approx(one.sheltered[channel])
    assert two.spread == pytest.approx(one.spread)


def test_the_order_of_places_does_not_change_the_loss_but_changes_how_fast_it_grows_now() -> None:
    salt_last = lived(Residence("Tucson, AZ", 1976, 2001, salted_winters=0), Residence("Detroit, MI", 2001, salted_winters=25))
    salt_first = lived(Residence("Detroit, MI", 1976, 2001, salted_winters=25), Residence("Tucson, AZ", 2001, salted_winters=0))
    assert salt_last.open_air["bottom"] == pytest.approx(salt_first.open_air["bottom"])
    assert salt_last.aged_back(5) > salt_first.aged_back(5)


@given(st.sampled_from(STORAGES), st.sampled_from(["Detroit, MI", "Denver, CO", "Atlanta, GA"]), st.integers(0, 49))
@settings(max_examples=40)
def test_one_more_salted_winter_never_lowers_the_loss(storage: str, place: str, winters: int) -> None:
    fewer, more = (lived(Residence(place, 1976, storage=storage, salted_winters=count)) for count in (winters, winters + 1))
    for channel in CHANNELS:
        assert more.open_air[channel] >= fewer.open_air[channel] - 1e-12
        assert more.sheltered[channel] >= fewer.sheltered[channel] - 1e-12


@pytest.mark.parametrize("place", ["Phoenix, AZ", "Sacramento, CA", "Atlanta, GA", "Detroit, MI", OXFORD])
@pytest.mark.parametrize("other", [word for word in STORAGES if word != "garage-heated"])
def test_a_heated_garage_is_the_best_place_to_be_kept_without_salt(place: str, other: str) -> None:
    heated, kept = (
        lived(Residence(place, 1976, storage=word, ground="concrete", salted_winters=0)) for word in ("garage-heated", other)
    )
    for channel in CHANNELS:
        assert heated.open_air[channel] <= kept.open_air[channel]


def test_a_warm_garage_does_harm_to_what_comes_home_salty() -> None:
    # common practice, no source: warm brine is worse than cold
    warm, cold = (bottom(Residence("Detroit, MI", 1976, storage=word, salted_winters=50)) for word in ("garage-heated", "garage"))
    assert warm > cold


def test_grass_is_worse_than_concrete_below_most_of_all() -> None:
    grass, concrete = (
        lived(Residence(OXFORD, 1976, storage="outside", ground=word, salted_winters=0)) for word in ("grass", "concrete")
    )
    ratio = {channel: grass.open_air[channel] / concrete.open_air[channel] for channel in CHANNELS}
    assert ratio["bottom"] > ratio["top"] > 1 and ratio["acid"] == 1


def test_a_dirt_floor_harms_below_and_spares_above() -> None:
    barn = lived(Residence(OXFORD, 1976, storage="barn-dirt", salted_winters=0))
    assert barn.open_air["bottom"] > 1 > barn.open_air["top"]


@pytest.mark.parametrize(
    ("words", "channel", "direction"),
    [
        ({"coating": "oiled-yearly"}, "bottom", -1),
        ({"coating": "factory"}, "bottom", -1),
        ({"coating": "thick-old"}, "bottom", 1),
        ({"coating": "fresh"}, "bottom", 0),
        ({"use": "parade"}, "bottom", -1),
        ({"use": "farm"}, "bottom", 1),
        ({"use": "beach"}, "bottom", 1),
        ({"use": "daily"}, "bottom", 0),
        ({"interior": "glued-carpet"}, "floor", 1),
        ({"interior": "bare"}, "floor", -1),
        ({"roof": "soft"}, "floor", 1),
    ],
)
def test_cues_move_their_channel_the_way_the_trade_says(words: dict[str, str], channel: str, direction: int) -> None:
    plain = Residence(OXFORD, 1976, storage="outside", ground="concrete", salted_winters=0)
    before, after = lived(plain).open_air[channel], lived(replace(plain, **words)).open_air[channel]  # type: ignore[arg-type]
    assert (after > before) - (after < before) == direction


def test_a_soft_top_does_not_matter_under_a_roof() -> None:
    plain = Residence(OXFORD, 1976, storage="garage", salted_winters=0)
    assert lived(replace(plain, roof="soft")).open_air == lived(plain).open_air


@given(st.floats(0, 60), st.floats(0, 60))
def test_nearer_the_sea_is_never_better(one: float, other: float) -> None:
    coast = read_rates(TABLES).coast
    assert salt_of_the_sea(min(one, other), coast) >= salt_of_the_sea(max(one, other), coast)
    assert salt_of_the_sea(3.0, coast) == pytest.approx(0.7 * 30)  # 1.7 times the reference rate, common practice, no source


def test_the_less_is_known_the_wider_the_spread() -> None:
    whole = Residence("Detroit, MI", 1976, storage="outside", ground="gravel", salted_winters=10, papers=True)
    steps = [
        whole,
        replace(whole, papers=False),
        replace(whole, papers=False, ground=None),
        replace(whole, papers=False, ground=None, salted_winters=None),
        replace(whole, papers=False, ground=None, salted_winters=None, storage=None),
    ]
    spreads = [lived(step).spread for step in steps] + [lived(replace(whole, place=None)).spread]
    assert spreads == sorted(spreads) and len(set(spreads)) == len(spreads)


def test_a_life_known_with_papers_is_narrow_and_an_unknown_one_as_wide_as_the_world() -> None:
    papers = Residence("Atlanta, GA", 1976, storage="garage", papers=True)
    assert 0.15 <= lived(papers).spread <= 0.25
    # Feliu, Morcillo and Feliu 1993, Table 2: mean 41.6 um, sd 31.3 um, as lognormal s = 0.67, median 33.2 um
    assert lived().spread == pytest.approx(0.67)
    assert bottom() == pytest.approx(33.2 / 30)


@given(st.floats(0.5, 49.5))
def test_a_gap_widens_the_spread_and_the_longer_the_wider(missing: float) -> None:
    kept = Residence("Atlanta, GA", 1976 + missing, storage="garage", papers=True)
    shorter = lived(replace(kept, start=1976 + missing / 2)).spread
    assert lived(replace(kept, start=1976)).spread < shorter < lived(kept).spread


def test_the_stretches_add_up_and_say_what_each_added() -> None:
    exposure = lived(
        Residence("Tucson, AZ", 1976, 1990, storage="garage", papers=True),
        Residence("Detroit, MI", 1990, 2005, storage="garage", salted_winters=4),
        Residence("Atlanta, GA", 2010, storage="garage-heated"),
    )
    assert sum(stretch.share for stretch in exposure.stretches) == pytest.approx(1.0)
    assert sum(stretch.years for stretch in exposure.stretches) == pytest.approx(50.0)
    assert [stretch.known for stretch in exposure.stretches] == [True, True, False, True]
    assert max(exposure.stretches, key=lambda stretch: stretch.share).label == "Detroit, MI"
    assert exposure.stretches[1].multipliers["storage garage"] == pytest.approx(0.8)
    assert 1.2 < exposure.stretches[1].multipliers["salted winters"] < 2.5


def test_looking_back_starts_at_nothing_rises_and_is_steeper_in_cavities() -> None:
    exposure = lived(Residence(OXFORD, 1976, salted_winters=0))
    at = [exposure.aged_back(years) for years in (0, 1, 5, 10, 20)]
    assert at[0] == 0 and at == sorted(at)
    assert exposure.aged_back(10, sheltered=True) > exposure.aged_back(10)
    # ISO 9224 by hand: ln((50/40)**0.523)
    assert exposure.aged_back(10) == pytest.approx(0.1167, abs=1e-4)
    assert exposure.aged_back(-3) == 0


def test_a_vehicle_of_a_few_months_can_be_judged() -> None:
    exposure = lived(Residence("Atlanta, GA", 2025.5), built=2025.5)
    assert exposure.open_air["bottom"] == pytest.approx(0.15) and exposure.backward == ((0.0, 0.0),)


def test_measured_air_takes_the_published_formula() -> None:
    # air of Wanning and its rate by ISO 9223:2012 equation 1 (Ma, Li and Wang 2010, Table 2): 58.2 um, C4
    air = Air(rh=87, so2=6, chloride=38.7, temperature_c=24.7)
    (stretch,) = lived(Residence((18.8, 110.39), 1976, air=air)).stretches
    assert stretch.rate_um == pytest.approx(58.233, abs=1e-3) and stretch.category == "C4"


def test_more_salt_in_the_measured_air_never_lowers_the_loss() -> None:
    losses = [bottom(Residence(OXFORD, 1976, salted_winters=0, air=Air(78, 5, chloride))) for chloride in (1, 10, 60, 300)]
    assert losses == sorted(losses)


def test_what_is_guessed_is_said() -> None:
    codes = {
        remark.code
        for remark in lived(Residence("Detroit, MI", 1976, 1990, coating="fresh"), Residence(None, 1990, 2000)).remarks
    }
    assert codes == {"storage-unknown", "winters-unknown", "place-unknown", "gap-in-history", "fresh-coating"}


@pytest.mark.parametrize("channel", CHANNELS)
def test_the_loss_stays_within_its_bounds(channel: str) -> None:
    worst = Residence(
        "Cleveland, OH", 1936, storage="outside", ground="grass", salted_winters=90, use="beach", coating="thick-old"
    )
    best = Residence("Phoenix, AZ", 2020, storage="garage-heated", coating="oiled-yearly", use="parade")
    assert lived(worst, built=1936).open_air[channel] <= 5
    assert lived(best, built=2020).open_air[channel] >= 0.15


def test_every_problem_of_every_stay_is_reported_in_one_run() -> None:
    with pytest.raises(BadInput) as caught:
        lived(
            Residence("Detriot, MI", 1976, where="history 1"),
            Residence("Detroit, MI", 1990, 1980, storage="garrage", where="history 2"),
            Residence(OXFORD, 1990, air=Air(99, 5, 5), where="history 3"),
            Residence(None, 1990, air=Air(70, 5, 5), where="history 4"),
        )
    assert [problem.where for problem in caught.value.problems] == [
        "history 1",
        "history 2",
        "history 2",
        "history 3",
        "history 4",
    ]


@pytest.mark.parametrize(
    ("name", "old", "new", "told"),
    [
        ("exposure_constants.csv", "b_open,0.523", "b_opne,0.523", "nearest: 'b_open'"),
        ("exposure_constants.csv", "lowest,0.15", "lowest,-1", "value is -1"),
        ("exposure_climate.csv", "Cfa,700,C3,33", "Cfa,700,C4,33", "lies in C3"),
        ("exposure_climate.csv", "EF,0,C2,3", "EF,10,C2,3", "from 0 mm"),
        ("exposure_coast.csv", "30,0.0,", "30,2,", "no longer felt"),
        ("exposure_spread.csv", "place-unknown,", "place-unknow,", "'place-unknown' is missing"),
        ("exposure_multipliers.csv", "storage,outside,1.2", "storage,outside,much", "give a number"),
    ],
)
def test_a_broken_table_is_refused_with_its_line(tmp_path: Path, name: str, old: str, new: str, told: str) -> None:
    text = TABLES.path(name).read_text(encoding="utf-8").replace("30,0,", "30,0.0,")
    assert old in text
    (tmp_path / name).write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput, match=told):
        live([], built=1976, until=2026, tables=load_tables(tmp_path))


def test_a_table_without_a_needed_number_is_refused(tmp_path: Path) -> None:
    lines = TABLES.path("exposure_constants.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (tmp_path / "exposure_constants.csv").write_text(
        "".join(line for line in lines if not line.startswith("highest")), encoding="utf-8"
    )
    with pytest.raises(BadInput, match="'highest' is missing"):
        live([], built=1976, until=2026, tables=load_tables(tmp_path))
