"""The trader's dossier folder: all of it is read, and what is wrong with it is said in one go, and nothing is written."""

from __future__ import annotations

import tomllib
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from weldworth.core.errors import BadInput, NotFound
from weldworth.evidence.records import Answer, Finding, Reading
from weldworth.store.folder import read_dossier
from weldworth.tables.load import load_tables
from weldworth.workbench.dossier import Dossier

TODAY = date(2026, 11, 25)
TABLES = load_tables()
BASIC = """
[vehicle]
name = "Tamarack"
body = "pickup"

[[finding]]
zone = "{outside}"
sign = "bubbling"
source = "asked-picture"
"""


def zones() -> tuple[str, str, str]:
    """A zone on both sides without its side, the same with it, and a zone on the centre line, of the pickup."""
    from weldworth.vehicle.plans import load_plan

    plan = load_plan("pickup", TABLES)
    paired = next(zone for zone in plan.zones if zone.id.endswith(".l"))
    return paired.kind, paired.id, next(zone.id for zone in plan.zones if not zone.side)


PAIRED, LEFT, CENTRE = zones()
GAP = "pu.gap"


def filled(template: str, line: str) -> str:
    """The template with the line in place of its {}."""
    return template.replace("{}", line)


def a_folder(tmp_path: Path, text: str = BASIC, *, pictures: tuple[str, ...] = (), **files: str) -> Path:
    """A dossier folder; `{outside}` in the text stands for a zone. files : name with _ for the dot -> text."""
    folder = tmp_path / "tamarack"
    folder.mkdir(exist_ok=True)
    (folder / "candidate.toml").write_text(text.replace("{outside}", LEFT), encoding="utf-8")
    for name in pictures:
        (folder / "pictures" / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / "pictures" / name).write_bytes(b"")
    for name, content in files.items():
        (folder / name.replace("_", ".")).write_text(content, encoding="utf-8")
    return folder


def read(folder: Path) -> Dossier:
    return read_dossier(folder, TABLES, today=TODAY)


def refused(folder: Path) -> list[str]:
    """The problems, each on one line."""
    with pytest.raises(BadInput) as caught:
        read(folder)
    lines = [str(problem) for problem in caught.value.problems]
    assert all(len(line.splitlines()) == 1 for line in lines)
    return lines


FULL = f"""
[vehicle]
name = "Tamarack"
body = "pickup"
model_year = 1974
built = "1973-11"
number = "F10GLU12345"
odometer = 81234
odometer_unit = "mi"
battery_side = "left"
repairs = "one-owner"

[[history]]
place = "Detroit, MI"
from = 1974
to = 1990
storage = "outside"
ground = "gravel"
salted_winters = 12
use = "farm"

[[history]]
lat = 35.2
lon = -111.6
from = 1990-06-01
storage = "barn-dry"
coating = "oiled-yearly"
interior = "bare"
roof = "hard"
papers = true

[[finding]]
id = "corner"
zone = "{LEFT}"
sign = "bubbling"
source = "asked-picture"
picture = "left/corner.JPG"
region = [10, 20, 300, 400]
quality = 0.8
seen_on = 2026-11-02
note = "as big as a hand"

[[finding]]
zone = "{LEFT}"
sign = "hole"
source = "own-ground"
replaces = "corner"

[[finding]]
zone = "{CENTRE}"
sign = "scale"
absent = true
source = "old-picture"
seen_on = 2019

[[finding]]
zone = "{CENTRE}"
sign = "not-shown"
source = "asked-picture"

[[reading]]
zone = "{LEFT}"
kind = "coating"
value = 12
unit = "mil"
source = "own-ground"

[[reading]]
zone = "{GAP}.l"
kind = "door-gap"
value = -0.125
unit = "in"
source = "live-video"
seen_on = "2026-11-20"

[[answer]]
question = "floor-press"
answer = "crunches"
given_on = 2026-11-20

[[answer]]
question = "filler"
answer = "refused"

[[answer]]
question = "fix-first"
answer = "He said the clutch, then laughed."

[sale]
kind = "auction"
price_low = 4000
price_high = "9,500"
closes = 2026-12-05T18:00:00-06:00
buyer_fee = "5 % min 250 max 7,500"
seller_place = "Flagstaff, AZ"
bidders = 4

[resale]
low = 14000
likely = 18000
high = 23000

[shop]
margin = "20 %"
holding_months = 4
labour_rate = [70, 90, 120]
place = "Denver, CO"
transport_adders = "not-running"
"""


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


def with_item(item: str) -> str:
    return BASIC + item + "\n"


VEHICLE = BASIC.replace('body = "pickup"', 'body = "pickup"\n{}')
FINDING = BASIC + "{}\n"
READING = with_item(f'[[reading]]\nzone = "{LEFT}"\nkind = "coating"\nvalue = 5\nunit = "mil"\nsource = "own-ground"')
HISTORY = with_item("[[history]]\nfrom = 1974\n{}")
REFUSALS = {
    "a key that is not known": (
        filled(FINDING, "qualty = 0.5"),
        "finding 1: key 'qualty' is not known here; nearest: 'quality'",
    ),
    "a table that is not known": (
        with_item("[sail]"),
        "candidate.toml: table 'sail' is not known here; nearest: 'sale'",
    ),
    "a key above its table": (
        'body = "van"\n' + BASIC,
        "key 'body' is not known here; put it below [vehicle]",
    ),
    "a body": (
        BASIC.replace("pickup", "pikup"),
        "vehicle: body 'pikup' is not known here; nearest: 'pickup'",
    ),
    "no body": (
        BASIC.replace('body = "pickup"', ""),
        "vehicle: body is missing; use one of:",
    ),
    "no vehicle": (
        BASIC.partition("[[finding]]")[2].join(["[[finding]]", ""]),
        "table [vehicle] is missing",
    ),
    "no name": (
        BASIC.replace('"Tamarack"', '" "'),
        "vehicle: name is empty",
    ),
    "a model year ahead": (
        filled(VEHICLE, "model_year = 2031"),
        "model_year is 2031; give a whole number from 1900 to 2027",
    ),
    "a model year in words": (
        filled(VEHICLE, 'model_year = "74"'),
        "model_year is '74'; give a whole number",
    ),
    "a negative odometer": (
        filled(VEHICLE, "odometer = -5"),
        "odometer is -5; give a number of at least 0",
    ),
    "an odometer unit": (
        filled(VEHICLE, 'odometer_unit = "mil"'),
        "unit 'mil' is not known here; nearest: 'mi'",
    ),
    "a battery side": (
        filled(VEHICLE, 'battery_side = "lefft"'),
        "side 'lefft' is not known here; nearest: 'left'",
    ),
    "an option": (
        filled(VEHICLE, 'options = ["tail-fins"]'),
        "vehicle: option 'tail-fins'",
    ),
    "options that are no list": (
        filled(VEHICLE, 'options = "box"'),
        "options is 'box'; give a list of words",
    ),
    "a build date ahead": (
        filled(VEHICLE, "built = 2027-01-01"),
        "built is 2027-01-01, which is in the future",
    ),
    "a zone": (
        BASIC.replace("{outside}", LEFT[:-3] + "xx.l"),
        f"finding 1: zone '{LEFT[:-3]}xx.l' is not known here; nearest: 'pu.",
    ),
    "a zone without its side": (
        BASIC.replace("{outside}", PAIRED),
        f"is on both sides; write '{PAIRED}.l' or '{PAIRED}.r'",
    ),
    "a side that is not there": (
        BASIC.replace("{outside}", CENTRE + ".l"),
        f"zone '{CENTRE}.l' has no sides; write '{CENTRE}'",
    ),
    "a gap as metal": (
        BASIC.replace("{outside}", f"{GAP}.l"),
        "is a place to measure the door gap, not metal",
    ),
    "no zone": (
        BASIC.replace('zone = "{outside}"', ""),
        "finding 1: zone is missing",
    ),
    "a sign": (
        BASIC.replace("bubbling", "bubling"),
        "sign 'bubling' is not known here; nearest: 'bubbling'",
    ),
    "a sign of the gauge": (
        BASIC.replace("bubbling", "coating-thin"),
        "record the number as a [[reading]] of kind 'coating'",
    ),
    "a source": (
        BASIC.replace("asked-picture", "ask-picture"),
        "source 'ask-picture' is not known here; nearest: 'asked-picture'",
    ),
    "a quality above one": (
        filled(FINDING, "quality = 1.5"),
        "finding 1: quality is 1.5; give a number from 0 to 1",
    ),
    "a quality that is no number": (
        filled(FINDING, "quality = nan"),
        "finding 1: quality is nan; give a number from 0 to 1",
    ),
    "a finding ahead": (
        filled(FINDING, "seen_on = 2027-02-03"),
        "seen_on is 2027-02-03, which is in the future; give a day up to 2026-11-25",
    ),
    "a date in words": (
        filled(FINDING, 'seen_on = "last May"'),
        "seen_on is 'last May'; give a year such as 1974",
    ),
    "a region without a picture": (
        filled(FINDING, "region = [1, 2, 3, 4]"),
        "region is [1, 2, 3, 4] without a picture",
    ),
    "absent in quotes": (
        filled(FINDING, 'absent = "yes"'),
        "absent is 'yes'; write true or false without quotes",
    ),
    "a picture where none is": (
        filled(FINDING, 'picture = "a.jpg"'),
        "picture 'a.jpg' is not there: pictures/ holds no picture",
    ),
    "a finding in single brackets": (
        BASIC.replace("[[finding]]", "[finding]"),
        "write each item as [[finding]] with double brackets",
    ),
    "a correction of nothing": (
        filled(FINDING, 'replaces = "finding 7"'),
        "replaces is 'finding 7', but no finding stands before this one",
    ),
    "a kind of reading": (
        READING.replace('"coating"', '"coatings"'),
        "reading 1: kind 'coatings' is not known here; nearest: 'coating'",
    ),
    "a unit": (
        READING.replace('"mil"', '"mill"'),
        "reading 1: unit 'mill' is not known here; nearest: 'mil'",
    ),
    "a unit that does not suit": (
        READING.replace('"mil"', '"in"'),
        "unit 'in' does not suit a coating reading; use one of: mil, mm, um",
    ),
    "a negative coating": (
        READING.replace("value = 5", "value = -5"),
        "reading 1: value is -5; give a number of at least 0",
    ),
    "a value in quotes": (
        READING.replace("value = 5", 'value = "5 mil"'),
        "reading 1: value is '5 mil'; give a plain number",
    ),
    "a door gap at metal": (
        READING.replace('"coating"', '"door-gap"').replace('"mil"', '"mm"'),
        f"reading 1: place of a door gap '{LEFT}' is not known here",
    ),
    "a question": (
        with_item('[[answer]]\nquestion = "matts"\nanswer = "x"'),
        "answer 1: question 'matts' is not known here; nearest: 'mats'",
    ),
    "an empty answer": (
        with_item('[[answer]]\nquestion = "mats"\nanswer = ""'),
        "answer 1: answer is empty; use one of: glued, lifted, refused",
    ),
    "an answer ahead": (
        with_item('[[answer]]\nquestion = "mats"\nanswer = "lifted"\ngiven_on = 2026-11-26'),
        "given_on is 2026-11-26, which is in the future",
    ),
    "a storage": (
        filled(HISTORY, 'storage = "garge"'),
        "history 1: storage 'garge' is not known here; nearest: 'garage'",
    ),
    "a ground": (
        filled(HISTORY, 'ground = "gras"'),
        "history 1: ground 'gras' is not known here; nearest: 'grass'",
    ),
    "a coating": (
        filled(HISTORY, 'coating = "thick"'),
        "history 1: coating 'thick' is not known here; nearest: 'thick-old'",
    ),
    "a place": (
        filled(HISTORY, 'place = "Detroyt, MI"'),
        "history 1: town 'Detroyt' is not known in Michigan; nearest: 'Detroit'",
    ),
    "a latitude alone": (
        filled(HISTORY, "lat = 40"),
        "lat and lon go together",
    ),
    "a latitude beyond the pole": (
        filled(HISTORY, "lat = 140\nlon = 3"),
        "lat is 140; give a number from -90 to 90",
    ),
    "a place given twice": (
        filled(HISTORY, 'place = "48201"\nlat = 40\nlon = -80'),
        "place and lat, lon are both given",
    ),
    "a history ahead": (
        filled(HISTORY, "to = 2030"),
        "history 1: to is 2030, which is in the future",
    ),
    "a history backwards": (
        filled(HISTORY, "to = 1970"),
        "history 1: ends in 1970 before it starts in 1974; swap them",
    ),
    "a history without a start": (
        with_item("[[history]]\nto = 1980"),
        "history 1: from is missing; give a year such as 1974",
    ),
    "more winters than years": (
        filled(HISTORY, "to = 1980\nsalted_winters = 30"),
        "salted_winters is 30 in 6.0 years",
    ),
    "negative winters": (
        filled(HISTORY, "salted_winters = -1"),
        "salted_winters is -1; give a number from 0",
    ),
    "air without its humidity": (
        filled(HISTORY, "air = { so2 = 1, chloride = 2 }"),
        "history 1: air: rh is missing",
    ),
    "a kind of sale": (
        with_item('[sale]\nkind = "aucton"'),
        "sale: kind of sale 'aucton' is not known here; nearest: 'auction'",
    ),
    "no kind of sale": (
        with_item("[sale]\nprice = 5"),
        "sale: kind is missing; use one of: asked, auction",
    ),
    "a negative price": (
        with_item('[sale]\nkind = "asked"\nprice = -100'),
        "sale: price is -100; give an amount of 0 or more",
    ),
    "prices the wrong way round": (
        with_item('[sale]\nkind = "auction"\nprice_low = 9000\nprice_high = 8000'),
        "sale: price_low 9000 is above price_high 8000; swap them",
    ),
    "a price and a range": (
        with_item('[sale]\nkind = "auction"\nprice = 1\nprice_low = 1'),
        "price and price_low are both given",
    ),
    "half a range": (
        with_item('[sale]\nkind = "auction"\nprice_high = 8000'),
        "price_high is given without price_low",
    ),
    "a closing time in words": (
        with_item('[sale]\nkind = "auction"\ncloses = "Friday"'),
        "closes is 'Friday'; give a day such as",
    ),
    "a fee that does not parse": (
        with_item('[sale]\nkind = "auction"\nbuyer_fee = "5 % or so"'),
        "sale: buyer_fee: ",
    ),
    "the seller's place": (
        with_item('[sale]\nkind = "asked"\nseller_place = "Nowhereville, AZ"'),
        "sale: seller_place: town 'Nowhereville'",
    ),
    "bidders below none": (
        with_item('[sale]\nkind = "auction"\nbidders = -1'),
        "bidders is -1; give a whole number from 0",
    ),
    "a resale without its middle": (
        with_item("[resale]\nlow = 1\nhigh = 2"),
        "resale: likely is missing; give an amount",
    ),
    "a resale out of order": (
        with_item("[resale]\nlow = 3\nlikely = 2\nhigh = 4"),
        "low 3, likely 2 and high 4 are out of order",
    ),
    "a term of the shop": (
        with_item("[shop]\nmargn = 0.2"),
        "shop: key 'margn' is not known here; nearest: 'margin'",
    ),
    "a margin of more than all": (
        with_item("[shop]\nmargin = 20"),
        "shop: margin is 20; give a share from 0 to below 1",
    ),
    "a term that is a table": (with_item("[shop]\nmargin = { a = 1 }"), "shop: margin is {'a': 1}; give a number or a word"),
    "a rate that falls": (with_item("[shop]\nlabour_rate = [90, 70, 50]"), "shop: labour_rate is [90, 70, 50]"),
    "the shop's place": (with_item('[shop]\nplace = "Nowhereville, AZ"'), "shop: place: town 'Nowhereville'"),
    "a repair history": (
        filled(VEHICLE, 'repairs = "restord"'),
        "vehicle: repair history 'restord' is not known here; nearest: 'restored'",
    ),
}


@pytest.mark.parametrize("case", REFUSALS, ids=str)
def test_the_trader_is_told_what_to_mend(case: str, tmp_path: Path) -> None:
    text, told = REFUSALS[case]
    lines = refused(a_folder(tmp_path, text))
    assert len(lines) == 1 and told in lines[0] and lines[0].startswith("candidate.toml: "), lines


def test_every_problem_of_the_file_is_told_in_one_run(tmp_path: Path) -> None:
    text = (
        BASIC.replace("bubbling", "bubling").replace("asked-picture", "psychic")
        + 'quality = 7\nseen_on = 2040\n[[history]]\nfrom = 1974\nstorage = "cave"\n[sale]\nkind = "asked"\nprice = -3\n[extra]\n'
    )
    lines = refused(a_folder(tmp_path, text, comparables_csv="price\n5000\n"))
    words = ("bubling", "psychic", "quality is 7", "seen_on is 2040", "'cave'", "price is -3", "'extra'", "comparables.csv")
    assert [word for word in words if not any(word in line for line in lines)] == []
    assert len(lines) == len(words)


def test_an_unknown_body_does_not_hide_the_other_mistakes(tmp_path: Path) -> None:
    lines = refused(a_folder(tmp_path, BASIC.replace("pickup", "submarine").replace("bubbling", "bubling")))
    assert len(lines) == 2 and "submarine" in lines[0] and "bubling" in lines[1]


def test_a_zone_of_an_option_that_is_not_fitted_is_known_and_refused_for_that(tmp_path: Path) -> None:
    from weldworth.vehicle.plans import load_plan, plan_options

    options = list(plan_options("coupe", TABLES))
    bare, fitted = load_plan("coupe", TABLES), load_plan("coupe", TABLES, options=options)
    zone = next(zone.id for zone in fitted.zones if zone.id not in bare.index)
    text = BASIC.replace("pickup", "coupe").replace("{outside}", zone)
    assert "but not fitted on this vehicle; mend options in [vehicle]" in refused(a_folder(tmp_path, text))[0]
    with_options = text.replace('body = "coupe"', f'body = "coupe"\noptions = {options}')
    assert len(read(a_folder(tmp_path, with_options)).records) == 1


def test_a_picture_that_is_not_there_is_refused_with_the_nearest_name(tmp_path: Path) -> None:
    folder = a_folder(tmp_path, filled(FINDING, 'picture = "cornr.jpg"'), pictures=("corner.jpg", "rear.jpg"))
    assert refused(folder) == ["candidate.toml: finding 1: picture 'cornr.jpg' is not known here; nearest: 'corner.jpg'"]


@pytest.mark.parametrize("region", ["[1, 2, 3]", "[9, 2, 3, 4]", "[1.5, 2, 3, 4]", '"all"', "[-1, 0, 5, 5]"])
def test_a_region_that_frames_nothing_is_refused(region: str, tmp_path: Path) -> None:
    text = filled(FINDING, f'picture = "pictures/corner.jpg"\nregion = {region}')
    lines = refused(a_folder(tmp_path, text, pictures=("corner.jpg",)))
    assert len(lines) == 1 and "finding 1: region" in lines[0] and "left, top, right, bottom" in lines[0]


def test_a_correction_may_only_name_an_earlier_record_of_its_kind(tmp_path: Path) -> None:
    second = f'[[finding]]\nid = "two"\nzone = "{LEFT}"\nsign = "hole"\nsource = "own-ground"\nreplaces = '
    corrected = read(a_folder(tmp_path, BASIC + second + '"finding 1"')).records[1]
    assert corrected.replaces == "candidate.toml: finding 1"
    assert "earlier finding 'two' is not known here" in refused(a_folder(tmp_path, BASIC + second + '"two"'))[0]
    twice = BASIC + 'id = "two"\n' + second + '"finding 1"'
    assert "id 'two' is taken by finding 1" in refused(a_folder(tmp_path, twice))[0]


def test_a_wall_twice_as_thick_as_new_metal_is_doubted(tmp_path: Path) -> None:
    text = with_item(f'[[reading]]\nzone = "{LEFT}"\nkind = "wall"\nvalue = 0.9\nunit = "in"\nsource = "own-lift"')
    remark = read(a_folder(tmp_path, text)).remarks[0]
    assert (remark.code, remark.about) == ("odd-reading", LEFT) and "22.86 mm" in remark.text and "check the unit" in remark.text


def test_what_is_not_read_is_said(tmp_path: Path) -> None:
    folder = a_folder(tmp_path, pictures=("a.jpg", "list.pdf"), comparable_csv="price\n")
    assert [(remark.code, remark.about) for remark in read(folder).remarks] == [
        ("not-read", "comparable.csv"),
        ("not-a-picture", "pictures/list.pdf"),
    ]


def test_a_mistake_of_syntax_is_told_with_its_line(tmp_path: Path) -> None:
    lines = refused(a_folder(tmp_path, '[vehicle]\nname = "Tamarack"\nbody = pickup\n'))
    assert len(lines) == 1 and lines[0].startswith("candidate.toml line 3: cannot be read as TOML")
    assert "mend this line: 'body = pickup'" in lines[0]
    assert refused(a_folder(tmp_path, "[vehicle"))[0].startswith("candidate.toml line 1: ")


def test_a_file_that_is_not_utf_8_is_told_with_its_line(tmp_path: Path) -> None:
    folder = a_folder(tmp_path)
    (folder / "candidate.toml").write_bytes('[vehicle]\nname = "Fj\xe4ll"\n'.encode("latin-1"))
    assert refused(folder) == ["candidate.toml line 2: byte 0xe4 is not UTF-8 text; save the file as UTF-8"]


def test_the_mark_that_some_editors_put_before_the_text_does_no_harm(tmp_path: Path) -> None:
    assert read(a_folder(tmp_path, "\ufeff" + BASIC)).vehicle.name == "Tamarack"


def test_a_folder_that_is_not_there_is_not_found(tmp_path: Path) -> None:
    a_folder(tmp_path)
    with pytest.raises(NotFound, match="there is no such folder; nearest: 'tamarack'"):
        read(tmp_path / "tamarak")


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    assert "the folder is empty; put a candidate.toml into it" in refused(tmp_path)[0]


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    assert "is a file; give the folder that holds candidate.toml" in refused(a_folder(tmp_path) / "candidate.toml")[0]


def test_a_folder_without_its_file_is_refused_with_the_nearest_name(tmp_path: Path) -> None:
    folder = a_folder(tmp_path)
    (folder / "candidate.toml").rename(folder / "candidat.toml")
    assert "there is no candidate.toml; rename 'candidat.toml' if that is it" in refused(folder)[0]


def test_pictures_as_a_file_and_candidate_as_a_folder_are_refused(tmp_path: Path) -> None:
    (tmp_path / "candidate.toml").mkdir()
    (tmp_path / "pictures").write_text("")
    lines = refused(tmp_path)
    assert len(lines) == 2 and "candidate.toml: cannot be read" in lines[0] and "pictures: is a file" in lines[1]


@pytest.mark.parametrize("text", ["x = " + "[" * 5000, "x = " + "9" * 5000, "[vehicle]\nmodel_year = 1" + "0" * 400, "\x00"])
def test_what_only_a_machine_would_write_is_refused_too(text: str, tmp_path: Path) -> None:
    assert all(line.startswith("candidate.toml") for line in refused(a_folder(tmp_path, text)))


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=st.text(max_size=200))
def test_no_text_brings_the_reader_down(text: str, tmp_path: Path) -> None:
    (tmp_path / "candidate.toml").write_text(text, encoding="utf-8", errors="replace")
    with pytest.raises(BadInput):
        read(tmp_path)


ODD = """true|nan|-inf|1e400|[]|[[]]|{}|{ a = 1 }|0|-1|''|2026-11-25|0001-01-01|9999-12-31T23:59:59Z|23:59:59|'2026-13-45'
'0000-00'|[1, '2', nan, true]|1900|'9999'|'12:00'|"\\n"|'"|'pictures/'|"""
JUNK = st.one_of(
    st.sampled_from([*ODD.replace("\n", "|").split("|"), "1" + "0" * 300]),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=90).map(
        lambda s: f"'{s.replace(chr(39), '')}'"
    ),
    st.integers(-(10**20), 10**20).map(str),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
)
LINES = [line for line in FULL.splitlines() if " = " in line]


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(line=st.sampled_from(LINES), value=JUNK)
def test_no_value_at_any_key_brings_the_reader_down(line: str, value: str, tmp_path: Path) -> None:
    text = FULL.replace(line, f"{line.split(' = ')[0]} = {value}", 1)
    folder = a_folder(tmp_path, text, pictures=("left/corner.JPG",))
    try:
        tomllib.loads(text)
        read(folder)
    except tomllib.TOMLDecodeError:
        refused(folder)
    except BadInput as error:
        assert all(
            str(problem).startswith("candidate.toml") and len(str(problem).splitlines()) == 1 for problem in error.problems
        )
