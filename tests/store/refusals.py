"""Each mistake in a dossier folder with what the trader is told. Long because it is one table."""

from __future__ import annotations

from written import BASIC, CENTRE, GAP, LEFT, PAIRED, filled


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
