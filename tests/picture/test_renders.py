"""Rendered vehicles: their masks against the solid models worked out anew, and what the picture work makes of them.

The pictures are those of the demo; training/render/ made them with masks of zones and signs that are exact by construction.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import PIL.Image
import pytest
from projected import body_of, silhouette

import weldworth
from weldworth.picture.alike import likeness, print_of
from weldworth.picture.plate import read_plate
from weldworth.picture.quality import check
from weldworth.picture.rust import rust_mask
from weldworth.picture.scale import find_reference

DEMO = Path(weldworth.__file__).parent / "demo"
MASKS = Path(__file__).parent / "data" / "renders"
LISTED: dict[str, Any] = json.loads((MASKS / "names.json").read_text(encoding="utf-8"))
RUST, COATING, STAIN = 1, 4, 8
WHOLE = {
    "harrow-150_shackle-left": "pu.frame.shackle.l",
    "harrow-150_corner-left": "pu.corner.outer.l",
}
PARTLY_HIDDEN = {
    "ostrel-forager_foot-left": "ot.floor.foot.l",
    "ostrel-forager_rear-crossmember": "ot.frame.rear_cm",
    "pelham-lisse_sill-left": "mc.sill.outer.l",
    "pelham-lisse_trunk-floor": "mc.trunk.floor",
}


def file_of(name: str) -> Path:
    vehicle, _, picture = name.partition("_")
    return DEMO / vehicle / "pictures" / f"{picture}.jpg"


def pixels(path: Path) -> npt.NDArray[np.uint8]:
    with PIL.Image.open(path) as opened:
        return np.asarray(opened.convert("RGB"), dtype=np.uint8)


@cache
def masks(name: str) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.uint8]]:
    """Zone numbers and bits of signs, (h, w) each."""
    found = pixels(MASKS / f"{name}.png")
    return found[..., 0], found[..., 1]


def number_of(name: str, zone: str) -> int:
    return next(int(n) for n, z in LISTED[name]["zones"].items() if z == zone)


def test_every_picture_of_the_demo_has_a_mask_of_its_size() -> None:
    pictures = {f"{path.parent.parent.name}_{path.stem}": path for path in DEMO.glob("*/pictures/*.jpg")}
    assert pictures.keys() == LISTED.keys()
    for name, path in pictures.items():
        assert pixels(path).shape[:2] == masks(name)[0].shape, name
        assert path.stat().st_size <= 60_000, name


@pytest.mark.parametrize(("name", "zone"), WHOLE.items())
def test_a_zone_lies_where_its_sheets_fall_through_a_pinhole(name: str, zone: str) -> None:
    # second method: the grids of the solid model projected in numpy, without Blender
    camera = LISTED[name]["camera"]
    expected = silhouette(body_of(camera["body"]), zone, camera)
    found = masks(name)[0] == number_of(name, zone)
    assert (found & expected).sum() / (found | expected).sum() > 0.95


@pytest.mark.parametrize(("name", "zone"), PARTLY_HIDDEN.items())
def test_a_mask_never_leaves_its_zone_where_something_stands_before_it(name: str, zone: str) -> None:
    camera = LISTED[name]["camera"]
    expected = cv2.dilate(silhouette(body_of(camera["body"]), zone, camera).astype(np.uint8), np.ones((3, 3)))
    found = masks(name)[0] == number_of(name, zone)
    assert found.sum() > 2000 and (found & (expected == 0)).sum() / found.sum() < 0.01


@pytest.mark.parametrize("name", [n for n, entry in LISTED.items() if "prop" in entry and entry["prop"] != "plate"])
def test_lengths_beside_a_card_or_coin_are_within_their_interval(name: str) -> None:
    # the truth: places laid out in millimetres on the solid model; the card is ISO/IEC 7810 ID-1, the coin a US quarter
    entry = LISTED[name]
    kind = {"card": "card", "coin": "quarter"}[entry["prop"]]
    found = find_reference(pixels(file_of(name)), kind, near=tuple(entry["middle"][:2]), focal_35mm=27)
    spots = np.array(entry["spots"])[:, :2]
    grid = [(x, y) for x in (-60, 0, 60) for y in (-60, 0, 60)]
    inside = []
    for i in range(len(grid)):
        for j in range(i):
            said = found.plane.length([spots[i], spots[j]])
            inside.append(said.low <= np.hypot(grid[i][0] - grid[j][0], grid[i][1] - grid[j][1]) <= said.high)
    assert np.mean(inside) >= 0.9


def test_the_machine_sees_more_rust_where_there_is_rust() -> None:
    inside, outside = [], []
    for name in LISTED:
        signs = masks(name)[1]
        rusty = (signs & RUST) > 0
        if rusty.mean() > 0.02:
            said = rust_mask(pixels(file_of(name)))
            inside.append(said[rusty].mean())
            outside.append(said[~rusty & ((signs & COATING) == 0)].mean())
    assert len(inside) >= 3
    assert np.mean(inside) > 1.5 * np.mean(outside)


def test_clean_metal_is_seldom_called_rust() -> None:
    shares = [
        (rust_mask(pixels(file_of(name))) > 0.5).mean() for name in LISTED if ((masks(name)[1] & (RUST | STAIN)) == 0).all()
    ]
    assert len(shares) >= 5 and np.mean(shares) < 0.01


def test_the_dark_picture_gets_a_remedy_and_the_others_do_not() -> None:
    for name in LISTED:
        verdict = check(file_of(name))
        assert verdict.usable is (name != "harrow-150_under-cab-left"), (name, verdict)


def test_the_stamped_number_is_read() -> None:
    (best, *_) = read_plate(pixels(file_of("pelham-lisse_number-plate"))).candidates
    assert best.text == "PL26830417"


def test_the_right_shackle_is_the_left_one_turned_over() -> None:
    folder = DEMO / "harrow-150" / "pictures"
    found = likeness(print_of(pixels(folder / "shackle-left.jpg")), print_of(pixels(folder / "shackle-right.jpg")))
    assert found is not None and found.kind == "mirrored"


@pytest.mark.parametrize("body", ["coupe", "open-tub", "pickup", "roadster", "van"])
def test_every_body_can_be_walked_round(body: str) -> None:
    path = Path(__file__).parents[2] / "docs" / "drawings" / f"walk-{body}.webp"
    assert path.stat().st_size <= 400_000
    with PIL.Image.open(path) as walk:
        assert walk.n_frames >= 12  # type: ignore[attr-defined]
        first = np.asarray(walk.convert("L"), dtype=float)
        walk.seek(walk.n_frames // 2)  # type: ignore[attr-defined]
        assert np.abs(np.asarray(walk.convert("L"), dtype=float) - first).mean() > 5
