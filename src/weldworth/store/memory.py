"""A store that lives as long as the program: for trying out and for tests."""

from __future__ import annotations

import copy
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from weldworth.core.errors import Conflict
from weldworth.workbench.ledger import Entry
from weldworth.workbench.ports import CandidateRow, Change, Pass, Person, Summary, TablesVersion, TermsVersion


@dataclass
class _Kept:
    entries: dict[str, list[Entry]] = field(default_factory=dict)
    changes: list[Change] = field(default_factory=list)
    candidates: dict[str, CandidateRow] = field(default_factory=dict)
    summaries: dict[str, Summary] = field(default_factory=dict)
    people: dict[str, Person] = field(default_factory=dict)
    passes: dict[str, Pass] = field(default_factory=dict)
    terms: list[TermsVersion] = field(default_factory=list)
    tables: list[TablesVersion] = field(default_factory=list)

    def copied(self) -> _Kept:
        """The same, free to be changed: what it holds is frozen."""
        found = _Kept(**{name: copy.copy(getattr(self, name)) for name in self.__dataclass_fields__})
        found.entries = {id: list(entries) for id, entries in self.entries.items()}
        return found


class MemoryUnit:
    """One transaction on what is kept in memory."""

    def __init__(self, kept: _Kept) -> None:
        self._kept = kept

    def entries(self, candidate: str) -> list[Entry]:
        return list(self._kept.entries.get(candidate, ()))

    def append(self, entry: Entry) -> None:
        entries = self._kept.entries.setdefault(entry.candidate, [])
        if entry.seq != len(entries) + 1:
            raise Conflict(f"entry {entry.seq} is there already; read the candidate again")
        entries.append(entry)
        number, at = len(self._kept.changes) + 1, entry.at.isoformat(timespec="microseconds")
        self._kept.changes.append(Change(number, entry.candidate, entry.seq, entry.kind, entry.by, at))

    def candidate(self, id: str) -> CandidateRow | None:
        return self._kept.candidates.get(id)

    def candidates(self) -> list[CandidateRow]:
        return list(self._kept.candidates.values())

    def put_candidate(self, row: CandidateRow) -> None:
        self._kept.candidates[row.id] = row

    def summaries(self) -> dict[str, Summary]:
        return dict(self._kept.summaries)

    def summary_key(self, candidate: str) -> str | None:
        found = self._kept.summaries.get(candidate)
        return found.key if found else None

    def put_summary(self, summary: Summary) -> None:
        self._kept.summaries[summary.candidate] = summary

    def changes(self, since: int, most: int) -> list[Change]:
        return self._kept.changes[max(since, 0) : max(since, 0) + most]

    def last_change(self) -> int:
        return len(self._kept.changes)

    def people(self) -> list[Person]:
        return list(self._kept.people.values())

    def put_person(self, person: Person) -> None:
        self._kept.people[person.id] = person

    def passes(self, kind: str | None = None, person: str | None = None) -> list[Pass]:
        return [p for p in self._kept.passes.values() if kind in (None, p.kind) and person in (None, p.person)]

    def find_pass(self, hash: str) -> Pass | None:
        return self._kept.passes.get(hash)

    def put_pass(self, given: Pass) -> None:
        self._kept.passes[given.hash] = given

    def terms(self) -> list[TermsVersion]:
        return list(self._kept.terms)

    def put_terms(self, version: TermsVersion) -> None:
        if version.number != len(self._kept.terms) + 1:
            raise Conflict(f"version {version.number} of the terms is there already; read them again")
        self._kept.terms.append(version)

    def tables(self) -> list[TablesVersion]:
        return list(self._kept.tables)

    def put_table(self, version: TablesVersion) -> None:
        if version.number != len(self._kept.tables) + 1:
            raise Conflict(f"version {version.number} of the tables is there already; read them again")
        self._kept.tables.append(version)


class MemoryStore:
    """Everything in memory; gone at the end."""

    def __init__(self) -> None:
        self._kept, self._lock = _Kept(), threading.RLock()

    @contextmanager
    def reading(self) -> Iterator[MemoryUnit]:
        yield MemoryUnit(self._kept)

    @contextmanager
    def writing(self) -> Iterator[MemoryUnit]:
        with self._lock:
            trial = self._kept.copied()
            yield MemoryUnit(trial)
            self._kept = trial

    def close(self) -> None:
        """Nothing to close."""
