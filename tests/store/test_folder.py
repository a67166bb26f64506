"""A dossier folder comes back as it was written, and reading writes nothing."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from written import CENTRE, FULL, LEFT, a_folder, read

from weldworth.evidence.records import Answer, Finding, Reading


def test_everything_that_the_trader_wrote_down_comes_back(tmp_path: Path) -> None:
    sales = "price,sold_on\n14000,2026-01-02\n17500,2026-03-04\n18000,2025-11-30\n"
    dossier = read(
        a_folder(tmp_path, FULL, pictures=("left/corner.JPG", "walk.mov"), comparables_csv=sales, advert_txt="Runs. No rust.")
    )
    vehicle = dossier.vehicle
    assert (dossier.folder, vehicle.name, vehicle.body, vehicle.model_year) == ("tamarack", "Tamarack", "pickup", 1974)
    assert (vehicle.number, vehicle.odometer, vehicle.odometer_unit, vehicle.battery_side) == ("F10GLU12345", 81234, "mi", "left")
    assert dossier.built == pytest.approx(1973 + (304 + 14.5) / 365, abs=0.003)
    town, hills = dossier.residences
    assert (town.place, town.start, town.end, town.storage, town.ground) == ("Detroit, MI", 1974, 1990, "outside", "gravel")
    assert (town.salted_winters, town.use, town.papers) == (12, "farm", False)
    assert (hills.place, hills.end, hills.storage, hills.coating) == ((35.2, -111.6), None, "barn-dry", "oiled-yearly")
    assert (hills.interior, hills.roof, hills.papers) == ("bare", "hard", True)
    assert hills.start == pytest.approx(1990 + 151 / 365)
    first, second, clean, hidden, coat, gap, crunch, silent, words = dossier.records
    assert first == Finding(
        LEFT,
        "bubbling",
        "asked-picture",
        False,
        0.8,
        "left/corner.JPG",
        (10, 20, 300, 400),
        date(2026, 11, 2),
        "as big as a hand",
        "candidate.toml: finding 1",
    )
    assert isinstance(second, Finding) and second.replaces == first.where
    assert isinstance(clean, Finding) and clean.absent and clean.seen_on is not None and clean.seen_on.year == 2019
    assert isinstance(hidden, Finding) and hidden.sign == "not-shown"
    assert isinstance(coat, Reading) and coat.value_mm == pytest.approx(0.3048) and (coat.value, coat.unit) == (12, "mil")
    assert isinstance(gap, Reading) and gap.value_mm == pytest.approx(-3.175) and gap.seen_on == date(2026, 11, 20)
    assert crunch == Answer("floor-press", "crunches", date(2026, 11, 20), where="candidate.toml: answer 1")
    assert isinstance(silent, Answer) and silent.answer == "refused"
    assert isinstance(words, Answer) and words.answer == "He said the clutch, then laughed."
    assert dossier.asked_for == (CENTRE, "filler")
    assert [(remark.code, remark.about) for remark in dossier.remarks] == [("answer-not-weighed", "fix-first")]
    sale = dossier.sale
    assert sale is not None and (sale.kind, sale.price_low, sale.price_high, sale.bidders) == ("auction", 4000, 9500, 4)
    assert sale.closes == datetime.fromisoformat("2026-12-05T18:00:00-06:00")
    assert (sale.buyer_fee, sale.seller_place) == ("5 % min 250 max 7,500", "Flagstaff, AZ")
    assert dossier.resale is not None and (dossier.resale.low, dossier.resale.likely, dossier.resale.high) == (
        14000,
        18000,
        23000,
    )
    assert dossier.repairs == "one-owner"
    assert dict(dossier.shop) == {
        "margin": "20 %",
        "holding_months": 4,
        "labour_rate": [70, 90, 120],
        "place": "Denver, CO",
        "transport_adders": "not-running",
    }
    assert dossier.comparables == sales and dossier.advert == "Runs. No rust."
    assert dossier.pictures == ("left/corner.JPG", "walk.mov")


def test_a_name_and_a_body_are_enough(tmp_path: Path) -> None:
    dossier = read(a_folder(tmp_path, '[vehicle]\nname = "Tamarack"\nbody = "van"\n'))
    assert (dossier.records, dossier.residences, dossier.sale, dossier.resale, dossier.pictures) == ((), (), None, None, ())


def test_nothing_is_written_by_reading(tmp_path: Path) -> None:
    folder = a_folder(tmp_path, FULL, pictures=("left/corner.JPG",))
    before = {path: (path.stat().st_mtime_ns, path.stat().st_size) for path in tmp_path.rglob("*")}
    read(folder)
    assert {path: (path.stat().st_mtime_ns, path.stat().st_size) for path in tmp_path.rglob("*")} == before
