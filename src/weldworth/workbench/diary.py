"""What was recorded, in words, and what stands of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from weldworth.core.errors import NotFound
from weldworth.tables.load import Tables
from weldworth.workbench.diary_words import about, seen, words_of
from weldworth.workbench.fold import dossier_of, gather
from weldworth.workbench.history import KIND, entries_before, names_before
from weldworth.workbench.ledger import Entry, standing_entries, upto, withdrawn
from weldworth.workbench.lines import CandidateView, DiaryLine

ELSEWHERE = "somebody elsewhere"


def view(entries: Sequence[Entry], until: int | None, tables: Tables, today: date) -> CandidateView:
    """Everything recorded up to the entry `until`; raises NotFound where there is none."""
    counted = upto(entries, until)
    if not counted:
        raise NotFound(f"there is no entry {until} in this candidate")
    found = gather(counted)
    return CandidateView(
        id=counted[0].candidate,
        dossier=dossier_of(found, tables, today=today),
        entries=tuple(counted),
        standing=tuple(standing_entries(counted)),
        revision=counted[-1].seq,
        last=entries[-1].seq,
        stage=found.stage,
        archived=found.archived,
        data=found.data,
        pictures=tuple(found.pictures),
        sent=found.sent,
    )


def _elsewhere(line: DiaryLine, names: Mapping[str, str], told: Mapping[str, str]) -> str:
    """Who recorded a line before it came here: somebody known here, else by the name that came with it, marked as from elsewhere.
    told : the names that came with it."""
    by = line.entry.by
    if by in names:
        return names[by]
    if line.elsewhere:
        return line.by_name
    return f"{told[by]}, elsewhere" if by in told else ELSEWHERE


def lines(entries: Sequence[Entry], names: Mapping[str, str], tables: Tables) -> list[DiaryLine]:
    """Every entry as the diary shows it, oldest first; zones and questions in the words of `tables`.

    What came with the candidate from elsewhere stands before its own entries.
    """
    earlier = [
        replace(line, elsewhere=True, by_name=_elsewhere(line, names, names_before(entry)))
        for entry in entries
        if entry.kind == KIND
        for line in lines(entries_before(entry), names, tables)
    ]
    words = words_of(str(gather(entries).vehicle.get("body", "")), tables)
    by_seq = {entry.seq: entry for entry in entries}
    dead = withdrawn(entries)
    alive = [entry for entry in entries if entry.seq not in dead]
    taken = {entry.body["seq"]: entry.seq for entry in alive if entry.kind == "withdrawn"}
    replaced = {entry.replaces: entry.seq for entry in alive if entry.replaces is not None}
    return earlier + [
        DiaryLine(
            entry=entry,
            by_name=names.get(entry.by, entry.by),
            about=about(entry, words, by_seq),
            standing=entry.seq not in dead and entry.seq not in replaced,
            replaced_by=replaced.get(entry.seq),
            withdrawn_by=taken.get(entry.seq),
            zone=words.zone(entry.body.get("zone")) if entry.kind == "finding" else "",
            seen=seen(entry, words) if entry.kind == "finding" else "",
        )
        for entry in entries
    ]
