"""Entries kept in a unit of work, with the line that the bench knows them by."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from weldworth.ceiling.amounts import parse_money
from weldworth.core.errors import Conflict, NotFound
from weldworth.workbench.fold import gather
from weldworth.workbench.ledger import WEIGHED, Entry, Json, seal, standing_entries
from weldworth.workbench.ports import CandidateRow, Receipt, Store, Unit


def entries_in(unit: Unit, id: str) -> list[Entry]:
    """The entries of a candidate; raises NotFound."""
    entries = unit.entries(id)
    if not entries:
        raise NotFound(f"there is no candidate {id!r} here")
    return entries


def standing_at(entries: Sequence[Entry], seq: int) -> Entry:
    """The entry where it stands; raises NotFound or Conflict."""
    found = next((entry for entry in entries if entry.seq == seq), None)
    if found is None:
        raise NotFound(f"there is no entry {seq} in this candidate")
    if all(entry.seq != seq for entry in standing_entries(entries)):
        later = next((entry for entry in entries if entry.replaces == seq), None)
        how = f"was corrected by entry {later.seq}" if later is not None else "was taken back"
        raise Conflict(f"entry {seq} {how} already; read it again")
    return found


def evidence_of(entries: Sequence[Entry]) -> str:
    """Hash of the last entry that may change the weighing."""
    return next((entry.hash for entry in reversed(entries) if entry.kind in WEIGHED), "")


def keep(unit: Unit, entries: Sequence[Entry], before: int) -> None:
    """Add the entries after the first `before`, and rewrite what the bench knows."""
    if len(entries) == before:
        return
    unit.put_candidate(row_of(entries))
    for entry in entries[before:]:
        unit.append(entry)


def row_of(entries: Sequence[Entry]) -> CandidateRow:
    """What the bench knows of a candidate with these entries."""
    found, first, last = gather(entries), entries[0], entries[-1]
    sale: Mapping[str, object] = found.whole.get("sale", {})
    low, high = sale.get("price_low", sale.get("price")), sale.get("price_high", sale.get("price"))
    year = found.vehicle.get("model_year")
    return CandidateRow(
        id=last.candidate,
        name=str(found.vehicle.get("name", "")),
        body=str(found.vehicle.get("body", "")),
        stage=found.stage,
        archived=found.archived,
        model_year=year if isinstance(year, int) else None,
        sale_kind=str(sale["kind"]) if "kind" in sale else None,
        price_low=_amount(low),
        price_high=_amount(high),
        closes=_text(sale.get("closes")),
        revision=last.seq,
        head=last.hash,
        evidence=evidence_of(entries),
        opened_at=first.at.isoformat(timespec="microseconds"),
        changed_at=last.at.isoformat(timespec="microseconds"),
        changed_by=last.by,
    )


def _text(value: object) -> str | None:
    return value.isoformat() if isinstance(value, date) else str(value) if value else None


def new_id() -> str:
    """An id that nobody else has."""
    return uuid.uuid4().hex


def _amount(value: object) -> float | None:
    try:
        return None if value is None else parse_money(value)
    except (ValueError, OverflowError):
        return None


def begin(
    store: Store, opened: Json, items: Sequence[tuple[str, Json]], by: str, now: datetime, receipt: Receipt | None = None
) -> str:
    """A new candidate from bodies that are checked already; its id. A body may say "replaces" with a number among `items`.

    The opening is entry 1, the first of `items` entry 2. receipt : kept with it, so that the same sent again opens nothing anew.
    """
    id = new_id()
    entries: list[Entry] = []
    for kind, body in [("opened", opened), *items]:
        entries.append(seal(id, kind, body, by, now, entries[-1] if entries else None))
    return begin_with(store, entries, receipt)


def begin_with(store: Store, entries: Sequence[Entry], receipt: Receipt | None = None) -> str:
    """Keep the entries of a new candidate, all or nothing, and give its id; see `begin`."""
    id = entries[0].candidate
    with store.writing() as unit:
        there = unit.receipt(receipt.owner, receipt.id) if receipt is not None else None
        if there is not None:
            return there.candidate
        keep(unit, entries, 0)
        if receipt is not None:
            unit.put_receipt(replace(receipt, candidate=id, entry=1, reply={"candidate": id}))
    return id
