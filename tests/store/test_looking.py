"""What the machine sees on a candidate's pictures, and what people make of it. Pictures: tests/picture/data/rust_credits.md."""

from __future__ import annotations

import json
from pathlib import Path

import PIL.Image
import pytest
from desks import desk_on

from weldworth.core.errors import BadInput, NotFound
from weldworth.picture.eye import Eye
from weldworth.picture.rust import look, model_version
from weldworth.tables import load_tables
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Changed
from weldworth.workbench.machine_findings import MachineFindings

DATA = Path(__file__).resolve().parents[1] / "picture/data"
RUSTY = DATA / "rust_phone_41.jpg"
TAIL, HORN = "pu.frame.tail", "pu.frame.horn.l"


@pytest.fixture
def pickup(desk: Desk, ann: str) -> str:
    return desk.open_candidate("Tamarack hauler", "pickup", ann, model_year=1968)


def taken(desk: Desk, id: str, by: str, file: Path = RUSTY, **facts: object) -> str:
    """The picture recorded; its SHA-256."""
    return str(desk.add_picture(id, file.read_bytes(), file.name, by, **facts).body["sha256"])


def states(found: MachineFindings, zone: str = TAIL) -> dict[str, str]:
    return {one.sign: one.state for sight in found.zones if sight.zone == zone for one in sight.suggestions}


def test_each_zone_of_a_picture_is_looked_at_in_its_region_and_graded(desk: Desk, pickup: str, ann: str) -> None:
    region = (20, 100, 180, 400)
    sha256 = taken(desk, pickup, ann, zones=[TAIL, HORN], regions={TAIL: list(region)}, source="asked-picture")
    found = desk.machine_findings(pickup, sha256)
    assert (found.name, found.source, found.told, found.width, found.height) == (RUSTY.name, "asked-picture", True, 201, 446)
    assert [(sight.zone, sight.region) for sight in found.zones] == [(TAIL, region), (HORN, None)]
    assert found.whole is not None and found.zones[1].sight == found.whole.sight
    from weldworth.picture.limits import limits
    from weldworth.picture.quality import read

    alone = look(read(RUSTY, limits(load_tables())).pixels, region)
    sight = found.zones[0].sight
    assert sight is not None and (sight.area_percent, sight.ri, sight.d610) == (alone.area_percent, alone.ri, alone.d610)
    assert states(found)["surface-rust"] == "suggested"
    on = {one.sign: one.measured_on for one in found.whole.suggestions}
    assert on["surface-rust"] == "photographs" and set(on.values()) == {"photographs", "synthetic pictures"}


def test_an_accepted_suggestion_is_a_finding_with_its_picture_and_region(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL], regions={TAIL: [20, 100, 180, 400]}, source="video", taken_on="2026-11-02")
    entry = desk.accept(pickup, sha256, TAIL, "surface-rust", ann)
    body = {"zone": TAIL, "sign": "surface-rust", "source": "video", "picture": RUSTY.name, "seen_on": "2026-11-02"}
    assert entry.body == {**body, "region": [20, 100, 180, 400]}
    found = desk.machine_findings(pickup, sha256)
    assert states(found)["surface-rust"] == "accepted"
    assert next(one.seq for one in found.zones[0].suggestions if one.sign == "surface-rust") == entry.seq
    desk.undo_last(pickup, ann)
    assert states(desk.machine_findings(pickup, sha256))["surface-rust"] == "suggested"


def test_an_outline_drawn_takes_the_place_of_the_region(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL])
    entry = desk.accept(pickup, sha256, TAIL, "surface-rust", ann, outline=[(5, 6), (20, 8), (10, 30)], note="at the weld")
    assert (entry.body["outline"], entry.body["note"]) == ([[5, 6], [20, 8], [10, 30]], "at the weld")
    assert entry.body["source"] == "beauty-picture", "nobody said how it came, so it is taken for the seller's own"


def test_a_dismissed_suggestion_comes_back_when_it_is_restored_or_undone(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL, HORN])
    desk.dismiss(pickup, sha256, TAIL, "surface-rust", ann)
    found = desk.machine_findings(pickup, sha256)
    assert (states(found)["surface-rust"], states(found, HORN)["surface-rust"]) == ("dismissed", "suggested")
    desk.restore(pickup, sha256, TAIL, "surface-rust", ann)
    assert states(desk.machine_findings(pickup, sha256))["surface-rust"] == "suggested"
    desk.dismiss(pickup, sha256, "", "surface-rust", ann)
    found = desk.machine_findings(pickup, sha256)
    assert (states(found)["surface-rust"], states(found, HORN)["surface-rust"]) == ("dismissed", "dismissed")
    desk.undo_last(pickup, ann)
    assert states(desk.machine_findings(pickup, sha256))["surface-rust"] == "suggested"
    with pytest.raises(BadInput, match="dismissed sign"):
        desk.restore(pickup, sha256, TAIL, "surface-rust", ann)


@pytest.mark.parametrize(("sign", "absent"), [("surface-rust", True), ("original-paint", False)])
def test_a_person_who_saw_otherwise_on_the_picture_overrules_the_machine(
    sign: str, absent: bool, desk: Desk, pickup: str, ann: str
) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL, HORN])
    said = {"zone": TAIL, "sign": sign, "absent": absent, "source": "asked-picture", "picture": RUSTY.name}
    desk.record(pickup, "finding", said, ann)
    found = desk.machine_findings(pickup, sha256)
    assert (states(found)["surface-rust"], states(found, HORN)["surface-rust"]) == ("overruled", "suggested")


def test_what_the_machine_does_not_suggest_can_be_neither_accepted_nor_dismissed(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL])
    before = desk.candidate(pickup).revision
    for act in (desk.accept, desk.dismiss):
        with pytest.raises(BadInput, match="'hole' is not suggested there; use one of"):
            act(pickup, sha256, TAIL, "hole", ann)
        with pytest.raises(BadInput, match=f"'{HORN}' is not shown on {RUSTY.name}"):
            act(pickup, sha256, HORN, "surface-rust", ann)
        with pytest.raises(NotFound):
            act(pickup, "0" * 64, TAIL, "surface-rust", ann)
    with pytest.raises(BadInput, match="put the picture on a zone first"):
        desk.accept(pickup, sha256, "", "surface-rust", ann)
    assert desk.candidate(pickup).revision == before


def test_two_who_judge_one_picture_at_once_are_told_of_each_other(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL])
    page = desk.candidate(pickup).revision
    desk.describe_picture(pickup, sha256, {"source": "video"}, desk.people.add("Ben", "partner").id, page)
    with pytest.raises(Changed, match="by Ben"):
        desk.dismiss(pickup, sha256, TAIL, "surface-rust", ann, revision=page)


def test_what_was_said_of_a_zone_goes_when_the_picture_no_longer_shows_it(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL, HORN], regions={TAIL: [0, 0, 90, 90], HORN: [90, 0, 190, 90]})
    desk.describe_picture(pickup, sha256, {"dismissed": [f"scale:{TAIL}", f"scale:{HORN}"]}, ann)
    desk.describe_picture(pickup, sha256, {"zones": [HORN], "source": "video"}, ann)
    facts = desk.picture(pickup, sha256).facts
    assert (facts["zones"], facts["source"]) == ([HORN], "video")
    assert (facts["regions"], facts["dismissed"]) == ({HORN: [90, 0, 190, 90]}, [f"scale:{HORN}"])
    with pytest.raises(BadInput) as refused:
        desk.describe_picture(pickup, sha256, {"zones": ["nowhere"], "regions": {TAIL: [0, 0, 9, 9]}}, ann)
    assert {problem.where for problem in refused.value.problems} == {"zones", "regions"}


def test_what_cannot_be_seen_is_said_and_nothing_is_raised(desk: Desk, pickup: str, ann: str, tmp_path: Path) -> None:
    text = str(desk.add_picture(pickup, b"not a picture", "list.jpg", ann, zones=[TAIL]).body["sha256"])
    assert "not a picture; give JPEG" in desk.machine_findings(pickup, text).problem
    with pytest.raises(BadInput, match=r"list\.jpg .* not a picture"):
        desk.accept(pickup, text, TAIL, "scale", ann)
    lost = taken(desk, pickup, ann, zones=[TAIL])
    desk.pictures.path(lost).unlink()
    assert "lost its original" in desk.machine_findings(pickup, lost).problem
    assert "cannot be opened" in Eye().see(tmp_path / "gone.jpg", (), load_tables()).problem


def test_what_was_seen_is_kept_under_the_pictures_hash_until_model_or_tables_change(
    desk: Desk, pickup: str, ann: str, tmp_path: Path
) -> None:
    sha256 = taken(desk, pickup, ann, zones=[TAIL], regions={TAIL: [20, 100, 180, 400]})
    first = desk.machine_findings(pickup, sha256)
    kept = desk.pictures.path(sha256, "seen")
    raw = json.loads(kept.read_text())
    assert model_version() in raw["basis"]
    raw["whole"]["area_percent"] = 99.0
    kept.write_text(json.dumps(raw))
    fresh = desk_on(desk.store, tmp_path)
    remembered = fresh.machine_findings(pickup, sha256)
    assert remembered.whole is not None and remembered.whole.sight is not None
    assert remembered.whole.sight.area_percent == 99.0, "read from what was kept, not seen again"
    raw["basis"] = "another model"
    kept.write_text(json.dumps(raw))
    assert desk_on(desk.store, tmp_path).machine_findings(pickup, sha256) == first
    kept.write_text("{ damaged")
    assert desk_on(desk.store, tmp_path).machine_findings(pickup, sha256) == first


def test_a_desk_without_an_eye_says_so(desk: Desk, pickup: str, ann: str) -> None:
    sha256 = taken(desk, pickup, ann)
    desk.eye = None
    with pytest.raises(BadInput, match="looks at no pictures"):
        desk.machine_findings(pickup, sha256)


@pytest.mark.parametrize("first", ["whole", "small", "large"])
def test_what_is_seen_does_not_depend_on_what_was_asked_for_first(first: str, tmp_path: Path) -> None:
    """On a picture of 12 megapixels, which is decoded smaller where that is enough."""
    with PIL.Image.open(DATA / "intake_panel_a.jpg") as panel:
        panel.resize((4000, 3000)).save(tmp_path / "big.jpg", quality=85)
    tables, small, large = load_tables(), (1500, 1300, 1900, 1600), (400, 300, 3900, 2900)
    asked = {"whole": [()], "small": [(small,)], "large": [(large,), (small,)]}[first]
    eye = Eye()
    for regions in asked:
        eye.see(tmp_path / "big.jpg", regions, tables)
    found = eye.see(tmp_path / "big.jpg", (small, large), tables)
    at_once = Eye().see(tmp_path / "big.jpg", (large, small), tables)
    assert (found.whole, dict(found.parts)) == (at_once.whole, dict(at_once.parts))
    whole = found.parts[large]
    assert whole.q > 0 and abs(whole.area_percent - found.whole.area_percent) < 15  # type: ignore[union-attr]
