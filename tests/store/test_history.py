"""A candidate that goes out and comes in again brings its history: verified, shown in the diary, never weighed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from desks import TABLES, desk_on

from weldworth.core.errors import BadInput
from weldworth.store.folder import read_dossier
from weldworth.store.sqlite import SqliteStore
from weldworth.workbench.desk import Desk
from weldworth.workbench.history import entries_before
from weldworth.workbench.keeping import begin
from weldworth.workbench.ledger import verify

SPOKEN = b"what was said at the left rear hanger, byte for byte"
RESALE = {"low": 14000, "likely": 17000, "high": 21000}


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    (tmp_path / "home").mkdir()
    return desk_on(SqliteStore(tmp_path / "home" / "weldworth.sqlite"), tmp_path / "home")


@pytest.fixture
def elsewhere(tmp_path: Path) -> Desk:
    """Another shop, where nobody of the first is known."""
    (tmp_path / "other").mkdir()
    return desk_on(SqliteStore(tmp_path / "other" / "weldworth.sqlite"), tmp_path / "other")


@pytest.fixture
def sent(desk: Desk, tmp_path: Path) -> tuple[str, Path]:
    """A candidate with a finding corrected and a voice memo, and the folder that it was exported to."""
    ann = desk.people.owner("Ann").id
    memo = {"sha256": desk.pictures.put(SPOKEN), "name": "memo-1.ogg", "zone": "pu.frame.tail", "seconds": 3.0}
    opened = {"name": "Tamarack hauler", "body": "pickup", "model_year": 1968}
    id = begin(desk.store, opened, [("memo", memo), ("resale", RESALE)], ann, desk.clock.now())
    zone = desk.metal(id).plan.zones[0].id
    first = desk.record(id, "finding", {"zone": zone, "sign": "hole", "source": "own-ground"}, ann)
    desk.correct(id, first.seq, {"zone": zone, "sign": "scale", "source": "own-ground"}, ann)
    desk.record(id, "note", {"text": "The seller hurried us along."}, ann)
    return id, desk.export_dossier(id, tmp_path / "tamarack")


def by(desk: Desk) -> str:
    return desk.people.owner("Bea").id


def tell(error: pytest.ExceptionInfo[BadInput]) -> str:
    return " ".join(str(problem) for problem in error.value.problems)


def test_the_diary_shows_what_was_recorded_elsewhere_before_its_own_lines(
    desk: Desk, elsewhere: Desk, sent: tuple[str, Path]
) -> None:
    id, folder = sent
    new = elsewhere.import_dossier(folder, by(elsewhere))
    lines = elsewhere.diary(new)
    earlier = [line for line in lines if line.elsewhere]
    assert lines[: len(earlier)] == earlier
    assert [(line.entry, line.about, line.standing) for line in earlier] == [
        (line.entry, line.about, line.standing) for line in desk.diary(id)
    ]
    assert {line.by_name for line in earlier} == {f"{desk.people.owner().name}, elsewhere"}
    assert any("hurried" in line.about for line in earlier)
    (kept,) = [entry for entry in elsewhere.candidate(new).entries if entry.kind == "history"]
    assert verify(entries_before(kept)) == [] and kept.body["head"] == desk.candidate(id).entries[-1].hash
    assert elsewhere.verify() == {}


@pytest.mark.parametrize("name", ["", None, 7, ["Ann"], {"a": "b"}])
def test_who_has_no_name_in_the_history_is_somebody_elsewhere(elsewhere: Desk, sent: tuple[str, Path], name: object) -> None:
    ledger = sent[1] / "ledger.jsonl"
    lines = [json.loads(line) for line in ledger.read_text(encoding="utf-8").splitlines()]
    ledger.write_text("".join(json.dumps({**line, "by_name": name}) + "\n" for line in lines), encoding="utf-8")
    shown = elsewhere.diary(elsewhere.import_dossier(sent[1], by(elsewhere)))
    assert {line.by_name for line in shown if line.elsewhere} == {"somebody elsewhere"}


def test_a_name_from_elsewhere_stays_by_the_next_import_and_ones_own_people_keep_theirs(
    desk: Desk, elsewhere: Desk, sent: tuple[str, Path], tmp_path: Path
) -> None:
    again = elsewhere.export_dossier(elsewhere.import_dossier(sent[1], by(elsewhere)), tmp_path / "again")
    back = [line.by_name for line in desk.diary(desk.import_dossier(again, by(desk))) if line.elsewhere]
    assert desk.people.owner().name in back
    assert f"{elsewhere.people.owner().name}, elsewhere" in back


def test_the_history_weighs_nothing_and_what_stands_is_what_the_dossier_says(
    desk: Desk, elsewhere: Desk, sent: tuple[str, Path], tmp_path: Path
) -> None:
    id, folder = sent
    new = elsewhere.import_dossier(folder, by(elsewhere))
    assert elsewhere.weighing(new).bill == desk.weighing(id).bill
    again = elsewhere.export_dossier(new, tmp_path / "again")
    assert (again / "candidate.toml").read_bytes() == (folder / "candidate.toml").read_bytes()
    third = desk.import_dossier(again, by(desk))
    assert sum("hurried" in line.about for line in desk.diary(third) if line.elsewhere) == 1


def test_voice_memos_come_back_byte_for_byte(elsewhere: Desk, sent: tuple[str, Path]) -> None:
    new = elsewhere.import_dossier(sent[1], by(elsewhere))
    (memo,) = [entry.body for entry in elsewhere.candidate(new).standing if entry.kind == "memo"]
    assert elsewhere.pictures.get(str(memo["sha256"])) == SPOKEN
    assert memo["sha256"] == hashlib.sha256(SPOKEN).hexdigest() and memo["zone"] == "pu.frame.tail"


def changed(number: int, key: str, value: Any) -> Any:
    def change(lines: list[dict[str, Any]]) -> None:
        lines[number][key] = value

    return change


def text_of_note(lines: list[dict[str, Any]]) -> None:
    lines[-1]["body"]["text"] = "The seller was patient."


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (text_of_note, "entry 6: is not what was recorded"),
        (lambda lines: lines.pop(3), "an entry is missing or was put in"),
        (lambda lines: lines.insert(2, dict(lines[1])), "an entry is missing or was put in"),
        (lambda lines: lines.reverse(), "an entry is missing or was put in"),
        (changed(3, "by", "somebody-else"), "entry 4: is not what was recorded"),
        (changed(2, "at", "2020-01-01T00:00:00+00:00"), "entry 3: is not what was recorded"),
        (changed(0, "body", "nothing"), "line 1"),
        (changed(1, "seq", "two"), "line 2"),
        (lambda lines: lines[2].pop("hash"), "line 3"),
    ],
)
def test_a_ledger_that_was_changed_is_refused_by_the_record_and_nothing_is_taken_in(
    elsewhere: Desk, sent: tuple[str, Path], change: Any, told: str
) -> None:
    ledger = sent[1] / "ledger.jsonl"
    lines = [json.loads(line) for line in ledger.read_text(encoding="utf-8").splitlines()]
    change(lines)
    ledger.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    with pytest.raises(BadInput) as error:
        elsewhere.import_dossier(sent[1], by(elsewhere))
    assert told in tell(error) and "ledger.jsonl" in tell(error) and "export the candidate again" in tell(error)
    assert elsewhere.candidates(archived=None) == []


@pytest.mark.parametrize("text", ["{", "[1, 2]", "no ledger at all", '{"seq": 1}', "9" * 5000])
def test_what_is_no_ledger_is_named_by_its_line(elsewhere: Desk, sent: tuple[str, Path], text: str) -> None:
    (sent[1] / "ledger.jsonl").write_text(text + "\n", encoding="utf-8")
    with pytest.raises(BadInput) as error:
        elsewhere.import_dossier(sent[1], by(elsewhere))
    assert "ledger.jsonl line 1" in tell(error)


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("memo-1.ogg", None, "memos/memo-1.ogg is named in ledger.jsonl and missing"),
        ("memo-1.ogg", b"something else", "memos/memo-1.ogg is not the memo that was recorded"),
        ("memo-9.ogg", b"a stranger", "memos/memo-9.ogg is not named in ledger.jsonl"),
    ],
)
def test_memos_that_do_not_belong_are_named(
    elsewhere: Desk, sent: tuple[str, Path], name: str, data: bytes | None, told: str
) -> None:
    file = sent[1] / "memos" / name
    if data is None:
        file.unlink()
    else:
        file.write_bytes(data)
    with pytest.raises(BadInput) as error:
        elsewhere.import_dossier(sent[1], by(elsewhere))
    assert told in tell(error).replace(": ", " ")
    assert elsewhere.candidates(archived=None) == []


def test_without_its_ledger_a_dossier_comes_in_without_a_history(elsewhere: Desk, sent: tuple[str, Path]) -> None:
    (sent[1] / "ledger.jsonl").unlink()
    (sent[1] / "memos" / "memo-1.ogg").unlink()
    new = elsewhere.import_dossier(sent[1], by(elsewhere))
    assert not [line for line in elsewhere.diary(new) if line.elsewhere]
    assert read_dossier(sent[1], TABLES, today=elsewhere.clock.today()).remarks == ()


def test_the_history_cannot_be_recorded_or_taken_back_by_hand(elsewhere: Desk, sent: tuple[str, Path]) -> None:
    bea = by(elsewhere)
    new = elsewhere.import_dossier(sent[1], bea)
    with pytest.raises(BadInput):
        elsewhere.record(new, "history", {"entries": [], "head": ""}, bea)
    (kept,) = [entry for entry in elsewhere.candidate(new).entries if entry.kind == "history"]
    with pytest.raises(BadInput):
        elsewhere.withdraw(new, kept.seq, bea)
