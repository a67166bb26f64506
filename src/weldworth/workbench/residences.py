"""The history as written: where the vehicle lived, and how it was kept there."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from weldworth.exposure.cues import known_words, read_cues
from weldworth.exposure.history import Air, Residence, problems_of
from weldworth.exposure.places import find_place
from weldworth.tables.load import Tables
from weldworth.workbench.document import Document, year_of
from weldworth.workbench.fields import Fields, shown

CUES = ("storage", "ground", "coating", "use", "interior", "roof")
HISTORY_KEYS = ("place", "lat", "lon", "from", "to", *CUES, "salted_winters", "papers", "air")
AIR_KEYS = ("rh", "so2", "chloride", "temperature_c")


def read_history(document: Document, tables: Tables) -> tuple[Residence, ...]:
    """The residences in the order given; problems are recorded in the document."""
    places = [(f"{document.file}: history {number}", item) for number, item in document.items("history")]
    read = [read_residence(document, where, item, tables) for where, item in places]
    return tuple(residence for residence in read if residence is not None)


def read_residence(document: Document, where: str, values: Mapping[str, object], tables: Tables) -> Residence | None:
    """One residence, or None with its problems recorded in the document. where : for messages."""
    words = known_words(read_cues(tables))
    fields = Fields(values, where, HISTORY_KEYS, document.problems, document.today)
    place = _place(fields, tables, document)
    start, end = fields.when("from", required=True), fields.when("to")
    storage, ground, coating, use, interior, roof = (fields.word(kind, words[kind]) for kind in CUES)
    winters, papers, air = fields.number("salted_winters", low=0, high=200), fields.flag("papers"), _air(fields, document)
    if start is None or (end is None and "to" in fields):
        return None
    residence = Residence(
        place=place,
        start=year_of(start[0]),
        end=None if end is None else _until(end, document.today),
        storage=storage,
        ground=ground,
        salted_winters=winters,
        coating=coating,
        use=use,
        interior=interior,
        roof=roof,
        papers=papers,
        air=air,
        where=fields.where,
    )
    document.problems += problems_of(residence, year_of(document.today), words)
    return residence


def _until(span: tuple[date, date], today: date) -> float:
    """A year or month names its beginning, as the next stretch begins there; the one that is running names today."""
    return year_of(today if span[1] == today else span[0])


def _place(fields: Fields, tables: Tables, document: Document) -> str | tuple[float, float] | None:
    """place, or lat with lon; None where neither is given or the problem is recorded."""
    lat, lon, place = fields.number("lat", low=-90, high=90), fields.number("lon", low=-180, high=180), fields.text("place")
    if ("lat" in fields) != ("lon" in fields):
        fields.refuse("lat and lon go together; give both in degrees, north and east positive")
        return None
    if "place" in fields and "lat" in fields:
        fields.refuse("place and lat, lon are both given; give one of them")
        return None
    given = place if place is not None else (lat, lon) if lat is not None and lon is not None else None
    if given is not None:
        document.checked(fields.where, lambda: find_place(given, tables, where=fields.where))
    return given


def _air(fields: Fields, document: Document) -> Air | None:
    """Measured air: relative humidity in %, deposition of SO2 and chloride in mg/(m2 d), and the temperature in degC."""
    value = fields.values.get("air")
    if value is None:
        return None
    if not isinstance(value, dict):
        fields.refuse(f"air is {shown(value)}; write air = {{ rh = 76, so2 = 5, chloride = 3 }}")
        return None
    inner = Fields(value, f"{fields.where}: air", AIR_KEYS, document.problems, document.today)
    humidity = inner.number("rh", low=0, high=100, required=True)
    so2, chloride = (inner.number(key, low=0, required=True) for key in ("so2", "chloride"))
    temperature = inner.number("temperature_c", low=-60, high=60)
    return None if humidity is None or so2 is None or chloride is None else Air(humidity, so2, chloride, temperature)
