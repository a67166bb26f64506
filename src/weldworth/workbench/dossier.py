"""Everything that is recorded about one candidate before it is weighed, as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from weldworth.core.remark import Remark
from weldworth.evidence.pictures import Shown
from weldworth.evidence.questions import REFUSED
from weldworth.evidence.records import Answer, Finding, Record, standing
from weldworth.exposure.history import Residence
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.ports import Seen

NOT_SHOWN = "not-shown"


@dataclass(frozen=True, slots=True)
class Sale:
    """How the vehicle is sold. Prices in the shop's currency.

    kind : "auction" or "asked". price_low, price_high : the price asked, or the range in which the price to beat is expected;
    equal when one price is known, None when none is. closes : may lie ahead. buyer_fee : the fee schedule as written.
    seller_place : where the vehicle has to be fetched. bidders : others expected to bid.
    """

    kind: str
    price_low: float | None = None
    price_high: float | None = None
    closes: date | datetime | None = None
    buyer_fee: str | None = None
    seller_place: str | None = None
    bidders: int | None = None


@dataclass(frozen=True, slots=True)
class ResaleView:
    """The trader's own view of what the finished, disclosed vehicle sells for: low <= likely <= high."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class Dossier:
    """One candidate as read from its folder.

    folder : the folder's name. built : when it was built, as a year with fraction, or None. repairs : the repair history that
    is believed before any answer, a row of repair_history.csv. shop : terms of the shop that this dossier overrides.
    comparables, advert : the files' text as it stands. pictures : file names below pictures/. shown : what people say of
    them. files : name -> where it lies, for those that can be looked at. seen : what the machine
    sees on them, once they were looked at. remarks : doubts about the dossier itself.
    """

    folder: str
    vehicle: Vehicle
    built: float | None = None
    repairs: str = "unknown"
    residences: tuple[Residence, ...] = ()
    records: tuple[Record, ...] = ()
    sale: Sale | None = None
    resale: ResaleView | None = None
    shop: Mapping[str, object] = field(default_factory=dict)
    comparables: str | None = None
    advert: str | None = None
    pictures: tuple[str, ...] = ()
    shown: tuple[Shown, ...] = ()
    files: Mapping[str, Path] = field(default_factory=dict)
    seen: Mapping[str, Seen] = field(default_factory=dict)
    remarks: tuple[Remark, ...] = ()

    @property
    def asked_for(self) -> tuple[str, ...]:
        """Zones and questions that were asked for and not shown or not answered, in the order recorded."""
        asked: list[str] = []
        for record in standing(self.records):
            if isinstance(record, Finding) and record.sign == NOT_SHOWN and not record.absent:
                asked.append(record.zone)
            elif isinstance(record, Answer) and record.answer == REFUSED:
                asked.append(record.question)
        return tuple(dict.fromkeys(asked))
