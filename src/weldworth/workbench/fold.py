"""The dossier as a fold over the entries of a candidate: what stands is read by the same checks as a dossier folder."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import cast

from weldworth.core.errors import Problem
from weldworth.core.remark import Remark
from weldworth.evidence.pictures import Shown
from weldworth.evidence.questions import REFUSED
from weldworth.evidence.records import Record
from weldworth.exposure.history import Residence
from weldworth.tables.load import Tables
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.document import Document, read_plans, read_resale, read_sale, read_shop, read_vehicle
from weldworth.workbench.dossier import NOT_SHOWN, Dossier
from weldworth.workbench.ledger import Entry, Json, root_of, standing_entries, upto
from weldworth.workbench.lines import PictureLine
from weldworth.workbench.recording import Known, RecordReader, known_words
from weldworth.workbench.residences import read_residence
from weldworth.workbench.showing import PICTURE_ITEM_KEYS, read_picture
from weldworth.workbench.stamps import without

WHOLE = ("sale", "resale", "shop")
"""Kinds whose latest standing entry is the whole table."""
RECORDS = ("finding", "reading", "answer")
TEXTS = ("comparables", "advert")
OUTLINE = "outline"
ENTRY = "entry {number}"


@dataclass
class Gathered:
    """What stands, by the tables of candidate.toml. Items are (seq, item) in the order in which they were first recorded."""

    vehicle: dict[str, object] = field(default_factory=dict)
    history: list[tuple[int, Json]] = field(default_factory=list)
    records: dict[str, list[tuple[int, Json]]] = field(default_factory=lambda: {kind: [] for kind in RECORDS})
    whole: dict[str, Json] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    pictures: list[PictureLine] = field(default_factory=list)
    sent: dict[str, str] = field(default_factory=dict)
    stage: str = "watched"
    archived: bool = False

    @property
    def data(self) -> dict[str, object]:
        """The same as candidate.toml would hold it."""
        found: dict[str, object] = {"vehicle": self.vehicle, "history": [item for _, item in self.history]}
        found["picture"] = [item for item in map(picture_item, self.pictures) if len(item) > 1]
        found |= {kind: [item for _, item in items] for kind, items in self.records.items()}
        found |= self.whole
        return {key: value for key, value in found.items() if value}


def gather(entries: Sequence[Entry], until: int | None = None) -> Gathered:
    """What stands after the entry `until`, or after all of them. A correction takes the place of what it corrects."""
    counted = upto(entries, until)
    by_seq = {entry.seq: entry for entry in counted}
    found = Gathered()
    for entry in sorted(standing_entries(counted), key=lambda entry: root_of(entry, by_seq)):
        _take(found, entry)
    return found


def _take(found: Gathered, entry: Entry) -> None:
    """Put one standing entry where it belongs."""
    kind, facts = entry.kind, entry.facts
    if kind in ("opened", "vehicle"):
        merged = {**found.vehicle, **facts}
        found.vehicle = {key: value for key, value in merged.items() if value is not None}
    elif kind == "residence":
        found.history.append((entry.seq, facts))
    elif kind in RECORDS:
        found.records[kind].append((entry.seq, _plain(facts)))
    elif kind in WHOLE:
        found.whole[kind] = facts
    elif kind in TEXTS:
        found.texts[kind] = str(facts.get("text", ""))
    elif kind == "picture":
        zones = tuple(str(zone) for zone in cast(Sequence[object], facts.get("zones", ())))
        found.pictures.append(PictureLine(entry.seq, str(facts["sha256"]), str(facts["name"]), zones, facts))
    elif kind == "ask-sent":
        found.sent |= {str(key): "sent" for key in cast(Sequence[object], facts.get("asks", ()))}
    elif kind in ("ask-arrived", "ask-refused"):
        found.sent[f"{facts['kind']}:{facts['zone']}"] = kind.removeprefix("ask-")
        if kind == "ask-refused":
            _refused(found, entry)
    elif kind == "stage":
        found.stage = str(facts["stage"])
    elif kind == "archived":
        found.archived = bool(facts["archived"])


def _refused(found: Gathered, entry: Entry) -> None:
    """A refusal is evidence: a question is answered so, a picture was asked for and not shown."""
    kind, zone, day = entry.body["kind"], entry.body["zone"], entry.at.date().isoformat()
    if kind == "question":
        found.records["answer"].append((entry.seq, {"question": zone, "answer": REFUSED, "given_on": day}))
    elif kind == "picture":
        item = {"zone": zone, "sign": NOT_SHOWN, "source": "asked-picture", "seen_on": day}
        found.records["finding"].append((entry.seq, item))


def _plain(facts: Json) -> Json:
    """A record without its stamp and outline; the box around the outline is its region where none is given."""
    facts = without(facts)
    if OUTLINE not in facts:
        return facts
    points = cast(Sequence[Sequence[float]], facts[OUTLINE])
    left, top = (min(point[i] for point in points) for i in (0, 1))
    right, bottom = (max(point[i] for point in points) for i in (0, 1))
    rest = {key: value for key, value in facts.items() if key != OUTLINE}
    return {"region": [int(left), int(top), int(right) + 1, int(bottom) + 1], **rest}


def fold(entries: Sequence[Entry], tables: Tables, *, today: date, until: int | None = None) -> Dossier:
    """The dossier that the entries amount to, or amounted to when `until` was the last of them.

    What the tables no longer know is left out with a remark that names the entry; nothing recorded is ever refused here.
    Record and residence say "entry N" where they stand.
    """
    return dossier_of(gather(entries, until), tables, today=today)


def dossier_of(found: Gathered, tables: Tables, *, today: date) -> Dossier:
    """The dossier of what was gathered."""
    document = Document("entry", found.data, today)
    vehicle, built, repairs = read_vehicle(document, tables)
    remarks: list[Remark] = []
    names = tuple(picture.name for picture in found.pictures)
    records, shown = _records(found, document, vehicle, tables, names, remarks)
    residences = _residences(found, document, tables)
    sale, resale, shop = read_sale(document, tables), read_resale(document), read_shop(document, tables)
    remarks += [Remark("not-weighed", p.where, f"{p.where}: {p.text}; it is kept and not weighed") for p in document.problems]
    return Dossier(
        folder=vehicle.name,
        vehicle=vehicle,
        built=built,
        repairs=repairs,
        residences=residences,
        records=records,
        sale=sale,
        resale=resale,
        shop=shop,
        comparables=found.texts.get("comparables") or None,
        advert=found.texts.get("advert") or None,
        pictures=names,
        shown=shown,
        remarks=tuple(remarks),
    )


def known_of(vehicle: Vehicle, tables: Tables, pictures: Sequence[str], problems: list[Problem], today: date) -> Known:
    """The words that records about this vehicle may use; what is wrong with its options goes to `problems`."""
    document = Document("vehicle", {}, today, problems)
    return known_words(*read_plans(document, vehicle, tables), tables, pictures)


def _records(
    found: Gathered, document: Document, vehicle: Vehicle, tables: Tables, pictures: Sequence[str], remarks: list[Remark]
) -> tuple[tuple[Record, ...], tuple[Shown, ...]]:
    known = known_of(vehicle, tables, pictures, document.problems, document.today)
    reader = RecordReader(known, "", document.problems, document.today, remarks, places=ENTRY)
    read = {"finding": reader.finding, "reading": reader.reading, "answer": reader.answer}
    records: list[Record | None] = [read[kind](seq, item) for kind in RECORDS for seq, item in found.records[kind]]
    shown = [read_picture(reader, picture.seq, picture_item(picture)) for picture in found.pictures]
    return tuple(record for record in records if record is not None), tuple(one for one in shown if one is not None)


def picture_item(picture: PictureLine) -> dict[str, object]:
    """What is said of a picture, as an item of candidate.toml."""
    said = {key: picture.facts[key] for key in PICTURE_ITEM_KEYS if picture.facts.get(key) not in (None, "", [], {})}
    return {"file": picture.name, **said}


def _residences(found: Gathered, document: Document, tables: Tables) -> tuple[Residence, ...]:
    read = [read_residence(document, ENTRY.format(number=seq), item, tables) for seq, item in found.history]
    return tuple(residence for residence in read if residence is not None)


def merged(gathered: Gathered, changes: Mapping[str, object]) -> dict[str, object]:
    """The vehicle's facts with changes; a change to null takes the fact away."""
    return {key: value for key, value in {**gathered.vehicle, **changes}.items() if value is not None}
