"""What is recorded stays recorded: the chain of hashes, corrections, takings back, and who changed the same thing."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.workbench.ledger import (
    Entry,
    entry_json,
    entry_of,
    rivals,
    seal,
    standing_entries,
    verify,
)

AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
ID = "0" * 32


def chain(*items: tuple[str, dict[str, object]], by: str = "ann") -> list[Entry]:
    """Entries made one after another."""
    entries: list[Entry] = []
    for kind, body in items:
        entries.append(seal(ID, kind, body, by, AT + timedelta(minutes=len(entries)), entries[-1] if entries else None))
    return entries


def note(text: str) -> tuple[str, dict[str, object]]:
    return "note", {"text": text}


def finding(zone: str, sign: str, **more: object) -> tuple[str, dict[str, object]]:
    return "finding", {"zone": zone, "sign": sign, "source": "video", **more}


OPENED = ("opened", {"name": "Tamarack", "body": "pickup"})


def test_the_hash_of_an_entry_is_sha256_over_its_sorted_json_as_anyone_can_recompute() -> None:
    # A second method: written out by hand here, with hashlib and json alone (SHA-256: FIPS 180-4).
    entry = chain(OPENED)[0]
    written = (
        '{"at":"2026-11-25T09:00:00.000000+00:00","before":"","body":{"body":"pickup","name":"Tamarack"},"by":"ann",'
        f'"candidate":"{ID}","kind":"opened","seq":1}}'
    )
    assert entry.hash == hashlib.sha256(written.encode()).hexdigest()


def test_a_chain_as_recorded_holds() -> None:
    assert verify(chain(OPENED, note("a"), note("b"))) == []


@pytest.mark.parametrize("changed", [{"by": "ben"}, {"at": AT}, {"body": {"text": "other"}}, {"kind": "stage"}, {"before": ""}])
def test_whatever_is_changed_afterwards_in_an_entry_shows_at_that_entry(changed: dict[str, object]) -> None:
    entries = chain(OPENED, note("a"), note("b"), note("c"))
    entries[2] = replace(entries[2], **changed)
    assert {problem.where for problem in verify(entries)} >= {"entry 3"}


def test_an_entry_taken_out_put_in_or_moved_shows() -> None:
    entries = chain(OPENED, note("a"), note("b"), note("c"))
    assert verify([*entries[:1], *entries[2:]])
    assert verify([entries[0], entries[2], entries[1], entries[3]])
    assert verify([*entries[:2], entries[1], *entries[2:]])


def test_an_entry_changed_with_its_hash_made_anew_shows_at_the_entry_after_it() -> None:
    entries = chain(OPENED, note("a"), note("b"))
    entries[1] = seal(ID, "note", {"text": "never said"}, "ann", entries[1].at, entries[0])
    assert [problem.where for problem in verify(entries)] == ["entry 3"]


def test_the_same_moment_in_another_time_zone_is_the_same_entry() -> None:
    there = AT.astimezone(timezone(timedelta(hours=-6)))
    assert seal(ID, *OPENED, "ann", there, None) == seal(ID, *OPENED, "ann", AT, None)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(st.text(max_size=10), JSON, max_size=5))
def test_whatever_a_body_holds_the_entry_is_the_same_after_writing_and_reading(body: dict[str, object]) -> None:
    entry = seal(ID, "note", body, "ann", AT, None)
    again = entry_of(json.loads(json.dumps(entry_json(entry))))
    assert again == entry
    assert verify([again]) == []


@pytest.mark.parametrize("body", [{"n": float("nan")}, {"n": {1, 2}}, {"n": "\ud800"}])
def test_what_cannot_be_kept_as_text_is_refused(body: dict[str, object]) -> None:
    with pytest.raises(BadInput, match="cannot be kept as JSON"):
        seal(ID, "note", body, "ann", AT, None)


def test_an_unknown_kind_is_refused_with_the_nearest() -> None:
    with pytest.raises(BadInput, match="nearest: 'finding'"):
        seal(ID, "findings", {}, "ann", AT, None)


def standing(entries: list[Entry]) -> list[int]:
    return [entry.seq for entry in standing_entries(entries)]


def test_a_correction_stands_in_the_place_of_what_it_corrects_and_both_are_kept() -> None:
    entries = chain(OPENED, finding("z", "hole"), finding("z", "scale", replaces=2))
    assert standing(entries) == [1, 3]
    assert len(entries) == 3


def test_taking_back_a_correction_lets_the_first_stand_again() -> None:
    entries = chain(OPENED, finding("z", "hole"), finding("z", "scale", replaces=2), ("withdrawn", {"seq": 3}))
    assert standing(entries) == [1, 2]


def test_taking_back_the_taking_back_is_doing_it_again() -> None:
    entries = chain(OPENED, note("a"), ("withdrawn", {"seq": 2}), ("withdrawn", {"seq": 3}))
    assert standing(entries) == [1, 2]


def test_of_a_correction_of_a_correction_the_last_stands() -> None:
    entries = chain(OPENED, note("a"), ("note", {"text": "b", "replaces": 2}), ("note", {"text": "c", "replaces": 3}))
    assert standing(entries) == [1, 4]
    assert standing([*entries, *chain(*[note("")] * 4, ("withdrawn", {"seq": 4}))[4:]]) == [1, 3]


def clash(first: tuple[str, dict[str, object]], second: tuple[str, dict[str, object]]) -> bool:
    """Whether two entries made from the same page get into each other's way."""
    base = chain(OPENED, finding("z", "hole"), ("residence", {"from": 1970}))
    entries = [*base, seal(ID, *first, "ann", AT, base[-1])]
    return bool(rivals(seal(ID, *second, "ben", AT, entries[-1]), entries, 3))


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (finding("z", "scale"), finding("z", "scale", absent=True)),
        (("sale", {"kind": "asked", "price": 1}), ("sale", {"kind": "asked", "price": 2})),
        (("vehicle", {"model_year": 1970}), ("vehicle", {"model_year": 1971})),
        (finding("z", "pitting", replaces=2), finding("z", "scale", replaces=2)),
        (finding("z", "pitting", replaces=2), finding("z", "hole", absent=True)),
        (("withdrawn", {"seq": 2}), finding("z", "scale", replaces=2)),
        (("residence", {"from": 1971, "replaces": 3}), ("residence", {"from": 1972, "replaces": 3})),
        (("stage", {"stage": "bid"}), ("stage", {"stage": "passed"})),
        (("answer", {"question": "fuel", "answer": "old"}), ("answer", {"question": "fuel", "answer": "fresh"})),
    ],
)
def test_two_who_change_the_same_thing_are_told(
    first: tuple[str, dict[str, object]], second: tuple[str, dict[str, object]]
) -> None:
    assert clash(first, second)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (finding("z", "scale"), finding("z", "wet")),
        (finding("y", "scale"), finding("z", "scale")),
        (("sale", {"kind": "asked"}), ("resale", {"low": 1, "likely": 2, "high": 3})),
        (("vehicle", {"model_year": 1970}), ("vehicle", {"odometer": 5})),
        (note("a"), note("a")),
        (("reading", {"zone": "z", "kind": "coating"}), ("reading", {"zone": "z", "kind": "coating"})),
        (("residence", {"from": 1980}), ("residence", {"from": 1990})),
        (finding("z", "scale"), ("withdrawn", {"seq": 2})),
    ],
)
def test_two_who_change_different_things_are_both_recorded(
    first: tuple[str, dict[str, object]], second: tuple[str, dict[str, object]]
) -> None:
    assert not clash(first, second)
