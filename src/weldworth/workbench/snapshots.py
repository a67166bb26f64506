"""What was known at one moment, kept with all that it rested on, so that it can be worked out anew and compared."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from weldworth.workbench.ledger import Entry, Json, standing_entries, verify
from weldworth.workbench.lines import Compared, Snapshot
from weldworth.workbench.summary import differing
from weldworth.workbench.weigher import Basis


def body_of(label: str, last: Entry, basis: Basis, table_number: int, result: Json) -> dict[str, object]:
    """The body of a snapshot's entry. last : the last entry that counted."""
    unlooked: dict[str, object] = {"unlooked": list(basis.unlooked)} if basis.unlooked else {}
    return {
        **unlooked,
        "label": label,
        "at_seq": last.seq,
        "head": last.hash,
        "tables": basis.tables,
        "table_number": table_number,
        "terms": basis.terms,
        "seed": basis.seed,
        "eye": basis.eye,
        "weighed_on": basis.day.isoformat(),
        "result": dict(result),
    }


def all_of(entries: Sequence[Entry]) -> list[Snapshot]:
    """The snapshots that stand, oldest first."""
    return [_snapshot(entry) for entry in standing_entries(entries) if entry.kind == "snapshot"]


def _snapshot(entry: Entry) -> Snapshot:
    body = entry.body
    return Snapshot(
        seq=entry.seq,
        label=str(body["label"]),
        by=entry.by,
        at=entry.at,
        at_seq=cast(int, body["at_seq"]),
        head=str(body["head"]),
        tables=str(body["tables"]),
        table_number=cast(int, body["table_number"]),
        terms=cast(int, body["terms"]),
        seed=cast(int, body["seed"]),
        weighed_on=str(body["weighed_on"]),
        body=cast(Json, body["result"]),
        eye=str(body.get("eye", "")),
        unlooked=tuple(str(one) for one in cast(Sequence[object], body.get("unlooked", ()))),
    )


def compared(then: Snapshot, counted: Sequence[Entry], now: Json, tables: str, eye: str, failed: str) -> Compared:
    """The snapshot beside the same worked out anew. counted : the entries up to it. eye : version of the model that looks at
    pictures now. failed : why it could not be."""
    because = f"it cannot be worked out any more: {failed}" if failed else ""
    differs = differing(then.body, now)
    if not because and (verify(counted) or not counted or counted[-1].hash != then.head):
        because = "the entries are not those that it was taken from: their hashes do not hold"
    elif not because and tables != then.tables:
        because = f"the shipped tables are others now: version {tables}, then {then.tables}"
    elif not because and differs and eye != then.eye:
        because = f"the model that looks at pictures is another now: version {eye or 'none'}, then {then.eye or 'none'}"
    return Compared(then, now, not differs and not failed, differs, because)
