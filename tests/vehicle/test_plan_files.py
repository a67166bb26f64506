"""Body plans of the shop's own: a file added, replaced or mistaken; each mistake by file, zone, key and remedy."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.tables.load import Tables, load_tables
from weldworth.vehicle.plan_keys import KEYS, SECTIONS
from weldworth.vehicle.plans import load_plan

DATA = Path(__file__).parent / "data"
WRITTEN = (DATA / "plans" / "three-wheeler.toml").read_text(encoding="utf-8")
BODIES = ("open-tub", "pickup", "coupe", "van", "roadster")
TABLES = load_tables()


def shop(folder: Path, text: str = WRITTEN, body: str = "three-wheeler") -> Tables:
    """The shipped tables with one plan file of the shop's own laid over them."""
    (folder / "plans").mkdir(exist_ok=True)
    (folder / "plans" / f"{body}.toml").write_text(text, encoding="utf-8")
    return Tables(overlay=folder)


def problems(text: str, folder: Path) -> list[str]:
    with pytest.raises(BadInput) as caught:
        load_plan("three-wheeler", shop(folder, text))
    return [str(problem) for problem in caught.value.problems]


def test_a_shop_adds_a_body_by_putting_a_file_in_its_plans_folder(tmp_path: Path) -> None:
    tables = shop(tmp_path)
    assert {"three-wheeler", *BODIES} == set(tables.plan_names())
    plan = load_plan("three-wheeler", tables)
    assert [zone.id for zone in plan.zones] == [
        *("tw.fork", "tw.sill.outer.l", "tw.sill.outer.r", "tw.sill.inner.l", "tw.sill.inner.r"),
        *("tw.tray", "tw.apron.l", "tw.apron.r", "tw.tail"),
    ]
    assert plan.zone("tw.tray").side == "l"
    assert (plan.zone("tw.apron.l").cause, plan.zone("tw.apron.r").cause) == ("battery", "lower")
    assert [(t.zone, t.hidden) for t in plan.tells if t.row == "battery-crust"] == [("tw.tray", "tw.apron.l")]
    twins = {(r.zone, r.of): r.strength for r in plan.relations if r.kind == "twin"}
    assert twins[("tw.sill.outer.l", "tw.sill.outer.r")] == 0.6
    assert twins[("tw.apron.l", "tw.apron.r")] is None
    assert plan.places[1].hidden == ("tw.sill.outer.r", "tw.fork")


def test_an_option_of_ones_own_brings_its_zone_on_the_sliding_side_and_its_changes(tmp_path: Path) -> None:
    plan = load_plan("three-wheeler", shop(tmp_path), options=("luggage-rack",))
    assert plan.zone("tw.hatch").side == "r"
    assert (plan.zone("tw.tail").vulnerability, plan.zone("tw.tail").view) == (2.5, "half")


def test_a_file_of_a_shipped_name_replaces_the_shipped_plan(tmp_path: Path) -> None:
    text = WRITTEN.replace('body = "three-wheeler"', 'body = "van"')
    assert load_plan("van", shop(tmp_path, text, "van")).code == "tw"


def test_the_small_plan_printed_in_the_handbook_loads(tmp_path: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "plans.md").read_text(encoding="utf-8")
    text = page.split("```toml\n", 1)[1].split("```", 1)[0]
    body = tomllib.loads(text)["body"]
    assert load_plan(body, shop(tmp_path, text, body)).zones


def test_every_key_of_a_plan_file_is_explained_in_the_handbook() -> None:
    page = (Path(__file__).parents[2] / "docs" / "plans.md").read_text(encoding="utf-8")
    keys = {key for needed, more in KEYS.values() for key in needed | more} - set(SECTIONS)
    assert [key for key in sorted(keys) if f"`{key}`" not in page] == []
    assert [section for section in SECTIONS if f"`[[{section}]]`" not in page] == []


def test_a_body_without_a_plan_is_refused_by_the_nearest_name() -> None:
    with pytest.raises(BadInput, match="body 'pickupp' is not known here; nearest: 'pickup'"):
        load_plan("pickupp", TABLES)


def test_an_unknown_option_and_side_are_refused_together() -> None:
    with pytest.raises(BadInput) as caught:
        load_plan("coupe", TABLES, options=("sun-roof",), battery_side="leftt")
    text = str(caught.value)
    assert "option 'sun-roof' is not known here; nearest: 'sunroof'" in text
    assert "battery side 'leftt' is not known here; nearest: 'left'" in text


def test_an_option_on_a_body_that_has_none_is_refused() -> None:
    with pytest.raises(BadInput, match="plan roadster: option 'sunroof': this body has no options"):
        load_plan("roadster", TABLES, options=("sunroof",))


REFUSALS = [
    ('code = "tw"\n', "", "three-wheeler.toml: key 'code' is missing"),
    ('code = "tw"', 'code = "tw"\ncolour = "red"', "key 'colour' is not known"),
    ("access = 4\n", "", "zone tw.sill.inner: key 'access' is missing; give a whole number"),
    ('station = "inside"', 'staton = "inside"', "zone tw.sill.inner: key 'staton' is not known; nearest: 'station'"),
    ("access = 4", 'access = "hard"', "zone tw.sill.inner: access is 'hard'; give a whole number"),
    ("access = 4", "access = 6", "zone tw.sill.inner: access is 6; give 1 (easy) to 5 (hardly possible)"),
    ("access = 4", "access = 0", "zone tw.sill.inner: access is 0"),
    ('cause = "rear"', 'cause = "raer"', "zone tw.tail: cause: cause 'raer' is not known here; nearest: 'rear'"),
    (
        'station = "inside"',
        'station = "inside it"',
        "zone tw.sill.inner: station: station 'inside it' is not known here; nearest: 'inside'",
    ),
    ('side = "slide"', 'side = "sliding"', "zone tw.hatch: side: side 'sliding' is not known here; nearest: 'slide'"),
    (
        'view = "hidden"\nseen = "hidden"\n',
        'view = "hiden"\nseen = "hidden"\n',
        "view 'hiden' is not known here; nearest: 'hidden'",
    ),
    ('structural = "partly"\nstr', 'structural = "part"\nstr', "structural 'part' is not known here; nearest: 'partly'"),
    ('"bubbling"', '"bubling"', "tell 1: signs: sign 'bubling' is not known here; nearest: 'bubbling'"),
    (
        'row = "sill-blisters"',
        'row = "sill-blister"',
        "tell 1: row: tell row 'sill-blister' is not known here; nearest: 'sill-blisters'",
    ),
    ('row = "door-drop"', 'row = "door-drops"', "place tw.gap: row: tell row 'door-drops' is not known here"),
    ('["RAKE", ""]', '["RAKES", ""]', "zone tw.sill.outer: photo: photo word 'RAKES' is not known here; nearest: 'RAKE'"),
    ('["SCOPE", ""]', '["SCOP", ""]', "zone tw.sill.inner: probe: probe word 'SCOP' is not known here; nearest: 'SCOPE'"),
    ('[["GAP", ""]]', '[["GAPE", ""]]', "place tw.gap: photo: photo word 'GAPE' is not known here; nearest: 'GAP'"),
    ('[["GAP", ""]]', '"GAP"', "place tw.gap: photo is 'GAP'; give a list of [WORD, \"detail\"] pairs"),
    (
        "thickness_mm = [2.0, 2.6]",
        "thickness_mm = [2.6, 2.0]",
        "zone tw.fork: thickness_mm is [2.6, 2.0]; give lowest, then highest",
    ),
    ("thickness_mm = [2.0, 2.6]", "thickness_mm = [0.0, 2.0]", "zone tw.fork: thickness_mm is [0.0, 2.0]"),
    ("thickness_mm = [2.0, 2.6]", "thickness_mm = 2.0", "zone tw.fork: thickness_mm is 2.0; give two numbers"),
    ("thickness_mm = [2.0, 2.6]", "thickness_mm = [2.0, nan]", "zone tw.fork: thickness_mm is [2.0, nan]; give two numbers"),
    ("vulnerability = 1.8", "vulnerability = 0", "zone tw.fork: vulnerability is 0; give a number above 0"),
    ("vulnerability = 2.5", "vulnerability = -1", "option luggage-rack: change 1: vulnerability is -1"),
    (
        'zone = "tw.tail"',
        'zone = "tw.tial"',
        "option luggage-rack: change 1: zone: zone 'tw.tial' is not known here; nearest: 'tw.tail'",
    ),
    ('id = "tw.tail"', 'id = "tw.tray"', "three-wheeler.toml: id 'tw.tray' is given 2 times"),
    ('id = "tw.gap"', 'id = "tw.tray"', "three-wheeler.toml: id 'tw.tray' is given 2 times"),
    ('id = "tw.hatch"', 'id = "hatch"', "zone hatch: id 'hatch' does not begin with the plan's code; write 'tw.hatch'"),
    ('of = "tw.sill.outer"\nstrength', 'of = "tw.sill.out"\nstrength', "relation 1: of: zone 'tw.sill.out' is not known here"),
    (
        'kind = "front-rear"',
        'kind = "front-back"',
        "relation 2: kind: relation 'front-back' is not known here; nearest: 'front-rear'",
    ),
    (
        "strength = 0.6\n\n[[relation]]",
        "strength = 1.6\n\n[[relation]]",
        "relation 1: strength is 1.6; give a correlation from 0 to 1",
    ),
    ("twin_strength = 0.6", "twin_strength = 7", "three-wheeler.toml: twin_strength is 7; give a correlation from 0 to 1"),
    ('zone = "tw.tray"\nsigns', 'zone = "tw.try"\nsigns', "tell 2: zone: zone 'tw.try' is not known here; nearest: 'tw.tray'"),
    ('hidden = "tw.apron"', 'hidden = "tw.tray"', "tell 2: zone and hidden are both 'tw.tray'"),
    (
        'zone = "tw.sill.outer"\nof',
        'zone = "tw.sil.outer"\nof',
        "sentinel 1: zone: zone 'tw.sil.outer' is not known here; nearest",
    ),
    ('hidden = ["tw.sill.outer", "tw.fork"]', 'hidden = ["tw.frok"]', "place tw.gap: hidden: zone 'tw.frok' is not known here"),
    ('family = "tail"', 'family = "sill"', "zone tw.tail: family 'sill' spans two causes, 'lower' (tw.sill.outer) and 'rear'"),
    (
        'option = "luggage-rack"',
        'option = "rack"',
        "zone tw.hatch: option: option 'rack' is not known here; nearest: 'luggage-rack'",
    ),
    ('slide_side = "right"\n', "", "key 'slide_side' is missing although something lies on the side of the sliding door"),
    ('battery_side = "left"', 'battery_side = "front"', "battery_side: side 'front' is not known here"),
    ('basis = "guess"', 'basis = "hearsay"', "basis: basis 'hearsay' is not known here"),
    ('body = "three-wheeler"', 'body = "four-wheeler"', "body is 'four-wheeler' but the file is named 'three-wheeler'"),
    ('id = "tw.tail"', 'id = "tw.tail"\nacid = true', "zone tw.tail: acid is true on a zone that does not lie on both sides"),
    ('name = "Door gap"', 'name = "Door gap', "plans/three-wheeler.toml: cannot be read as TOML"),
]


@pytest.mark.parametrize(("right", "wrong", "said"), REFUSALS)
def test_a_mistake_in_a_plan_is_refused_by_file_zone_key_and_remedy(right: str, wrong: str, said: str, tmp_path: Path) -> None:
    assert right in WRITTEN
    found = problems(WRITTEN.replace(right, wrong, 1), tmp_path)
    assert any(said in text for text in found), found
    assert all(text.startswith("plans/three-wheeler.toml") for text in found)


def test_a_sign_that_would_count_twice_for_the_same_hidden_metal_is_refused(tmp_path: Path) -> None:
    again = '[[tell]]\nzone = "tw.sill.outer"\nsigns = ["hole"]\nhidden = "tw.sill.inner"\nrow = "water-path"\n\n[[sentinel]]'
    found = problems(WRITTEN.replace("[[sentinel]]", again, 1), tmp_path)
    assert found == [
        "plans/three-wheeler.toml: tell 3: 'hole' on tw.sill.outer already speaks of tw.sill.inner in tell 1; keep one of the two"
    ]


def test_acid_without_a_battery_row_in_the_causes_is_refused(tmp_path: Path) -> None:
    rows = TABLES.path("causes.csv").read_text(encoding="utf-8").replace("\nbattery,", "\nacid,")
    (tmp_path / "causes.csv").write_text(rows, encoding="utf-8")
    found = problems(WRITTEN, tmp_path)
    assert any("causes.csv has no cause 'battery'" in text for text in found)


def test_a_plan_without_zones_is_refused(tmp_path: Path) -> None:
    text = WRITTEN.split("[[option]]")[0]
    assert problems(text, tmp_path) == ["plans/three-wheeler.toml: there is no zone; write at least one [[zone]]"]


def test_all_mistakes_of_one_file_are_told_in_one_go(tmp_path: Path) -> None:
    edits = [edit for edit in REFUSALS if edit[0] in ("access = 4\n", 'cause = "rear"', "vulnerability = 1.8", '"bubbling"')]
    edits += [
        edit for edit in REFUSALS if edit[0] in ('id = "tw.gap"', "twin_strength = 0.6", 'kind = "front-rear"', '["RAKE", ""]')
    ]
    text = WRITTEN
    for right, wrong, _ in edits:
        text = text.replace(right, wrong, 1)
    found = problems(text, tmp_path)
    assert len(edits) == len(found) == 8
    for _, _, said in edits:
        assert any(said in text for text in found), said


# --- no file, however wrong, breaks the reader -----------------------------------------------------------------------


@dataclass(frozen=True)
class GivenPlan(Tables):
    """The shipped tables with the plan given as data."""

    plan: Any = None

    def toml(self, name: str) -> dict[str, object]:
        return self.plan  # type: ignore[no-any-return]

    def plan_names(self) -> list[str]:
        return ["three-wheeler"]


def spots(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in nested lists and tables at which something could be put instead."""
    if path:
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in inner:
        yield from spots(part, (*path, key))


RIGHT = tomllib.loads(WRITTEN)
JUNK: st.SearchStrategy[Any] = st.sampled_from(
    [None, "", "x", "tw.tray", 0, -1, 3.5, float("nan"), float("inf"), True, [], [[]], [1, 2], ["x"], {}, [{}]]
)


@settings(max_examples=300)
@given(st.sampled_from(list(spots(RIGHT))), JUNK)
def test_whatever_stands_in_place_of_a_value_is_read_or_refused_with_its_file(path: tuple[Any, ...], junk: Any) -> None:
    plan = copy.deepcopy(RIGHT)
    holder: Any = plan
    for key in path[:-1]:
        holder = holder[key]
    if junk is None and isinstance(holder, dict):
        del holder[path[-1]]
    else:
        holder[path[-1]] = junk
    try:
        laid_out = load_plan("three-wheeler", replace(GivenPlan(), plan=plan), options=("luggage-rack",))
    except BadInput as error:
        assert all("three-wheeler" in problem.where for problem in error.problems)
    else:
        assert laid_out.zones
