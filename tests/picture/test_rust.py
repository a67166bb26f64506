"""Rust found in pictures, graded by the published scales, shown and suggested."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import PIL.Image
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.picture.grades import grades
from weldworth.picture.rust import RUSTED, Image, look, model_version, overlay, rust_mask
from weldworth.picture.suggest import CHANNELS, chances
from weldworth.tables import load_tables

DATA = Path(__file__).parent / "data"
TABLES = load_tables()
SYNTHETIC = sorted(DATA.glob("rust_synthetic_*.jpg"))
PHONE = sorted(DATA.glob("rust_phone_*.jpg"))


def picture(path: Path) -> Image:
    with PIL.Image.open(path) as opened:
        return np.asarray(opened.convert("RGB"), dtype=np.uint8)


def plain(colour: tuple[int, int, int], high: int = 240, wide: int = 320) -> Image:
    return np.full((high, wide, 3), colour, dtype=np.uint8)


# ASTM D610-08(2012), Table 1: upper bound of each grade included, lower bound excluded
@pytest.mark.parametrize(
    ("area", "grade"),
    [
        (0, 10),
        (0.01, 10),
        (0.011, 9),
        (0.03, 9),
        (0.1, 8),
        (0.3, 7),
        (1, 6),
        (1.01, 5),
        (3, 5),
        (10, 4),
        (16, 3),
        (33, 2),
        (50, 1),
        (50.1, 0),
        (100, 0),
    ],
)
def test_area_gets_the_grade_of_the_d610_table(area: float, grade: int) -> None:
    assert grades(area, TABLES).d610 == grade


# ISO 4628-3 grades and areas, https://coatingsradar.com/general.html
@pytest.mark.parametrize(("area", "ri"), [(0, 0), (0.05, 1), (0.5, 2), (1, 3), (8, 4), (40, 5), (50, 5), (90, 5)])
def test_area_of_an_iso_grade_gets_that_grade(area: float, ri: float) -> None:
    assert grades(area, TABLES).ri == ri


# the correspondence printed at https://coatingsradar.com/general.html: Ri 0 is 10, 1 is 8, 2 is 6, 3 is 6, 4 is 4, 5 is 1
@pytest.mark.parametrize(("area", "d610"), [(0, 10), (0.05, 8), (0.5, 6), (1, 6), (8, 4), (40, 1)])
def test_the_two_scales_agree_as_the_published_correspondence_says(area: float, d610: int) -> None:
    assert grades(area, TABLES).d610 == d610


@given(st.floats(0, 100), st.floats(0, 100))
def test_more_rust_is_never_a_better_grade(one: float, other: float) -> None:
    less, more = grades(min(one, other), TABLES), grades(max(one, other), TABLES)
    assert less.ri <= more.ri and less.d610 >= more.d610


@pytest.mark.parametrize("area", [-0.1, 100.1, float("nan")])
def test_an_area_that_is_no_share_is_refused(area: float) -> None:
    with pytest.raises(BadInput, match="0 to 100"):
        grades(area, TABLES)


def test_a_mask_has_a_probability_for_every_pixel_whatever_the_shape() -> None:
    for high, wide in ((240, 320), (33, 700), (641, 97)):
        mask = rust_mask(plain((90, 110, 130), high, wide))
        assert mask.shape == (high, wide) and mask.dtype == np.float32
        assert mask.min() >= 0 and mask.max() <= 1


def test_rust_drawn_with_a_known_mask_is_found() -> None:
    # truth: exact masks of the generator, drawn after training with its own seed
    hit = false = missed = 0
    for path in SYNTHETIC:
        with PIL.Image.open(path.with_suffix(".png")) as opened:
            truth = np.asarray(opened, dtype=np.uint8)
        known, said = truth < 2, rust_mask(picture(path)) > RUSTED
        hit += int((said & (truth == 1)).sum())
        false += int((said & (truth == 0)).sum())
        missed += int((~said & (truth == 1) & known).sum())
    assert hit / (hit + false + missed) > 0.6


@pytest.mark.parametrize("path", PHONE, ids=lambda path: path.stem)
def test_a_phone_picture_of_rusty_iron_shows_rust(path: Path) -> None:
    seen = look(picture(path))
    assert seen.chance > 0.5 and "surface-rust" in dict(seen.signs)


@pytest.mark.parametrize("colour", [(230, 230, 228), (40, 60, 120), (30, 30, 32), (120, 20, 30)])
def test_plain_paint_shows_no_rust(colour: tuple[int, int, int]) -> None:
    seen = look(plain(colour))
    assert seen.area_percent < 0.5 and seen.chance < 0.5


def test_grade_and_area_of_a_look_belong_together() -> None:
    seen = look(picture(PHONE[2]))
    assert (seen.ri, seen.d610) == (grades(seen.area_percent, TABLES).ri, grades(seen.area_percent, TABLES).d610)
    assert seen.model == model_version()
    assert [chance for _, chance in seen.signs] == sorted((chance for _, chance in seen.signs), reverse=True)


def test_looking_at_the_rusty_part_alone_shows_a_larger_share() -> None:
    image = picture(DATA / "rust_phone_32.jpg")
    mask = rust_mask(image) > RUSTED
    rows, columns = np.nonzero(mask)
    region = (int(columns.min()), int(rows.min()), int(columns.max()) + 1, int(rows.max()) + 1)
    assert look(image, region).area_percent > look(image).area_percent


def test_a_mirrored_picture_shows_about_the_same_rust() -> None:
    image = picture(DATA / "rust_phone_24.jpg")
    turned = np.ascontiguousarray(image[:, ::-1])
    assert look(turned).area_percent == pytest.approx(look(image).area_percent, rel=0.15)


def test_the_overlay_marks_rust_in_violet_and_leaves_the_rest_alone() -> None:
    image = plain((200, 200, 200))
    mask = np.zeros(image.shape[:2], np.float32)
    mask[80:160, 100:200] = 0.9
    drawn = overlay(image, mask)
    assert drawn.shape == image.shape and drawn.dtype == np.uint8
    assert np.array_equal(drawn[:70], image[:70])
    red, green, blue = drawn[90:150, 110:190].astype(int).reshape(-1, 3).mean(0)
    assert green < blue and green < red and red - blue < 40
    assert len({tuple(pixel) for pixel in drawn[100:140, 130:170].reshape(-1, 3)}) > 1


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        (np.zeros((50, 50, 3), np.float32), "uint8"),
        (np.zeros((50, 50), np.uint8), "height, width, 3"),
        (np.zeros((50, 50, 4), np.uint8), "height, width, 3"),
        (np.zeros((20, 300, 3), np.uint8), "at least 32"),
    ],
)
def test_what_is_no_picture_is_refused_with_the_remedy(bad: Image, told: str) -> None:
    for call in (rust_mask, look):
        with pytest.raises(BadInput, match=told):
            call(bad)


@pytest.mark.parametrize("region", [(10, 10, 10, 50), (-1, 0, 20, 20), (0, 0, 400, 100), (50, 60, 20, 80)])
def test_a_region_outside_the_picture_is_refused(region: tuple[int, int, int, int]) -> None:
    with pytest.raises(BadInput, match="leaves the picture"):
        look(plain((90, 90, 90)), region)


def test_a_tiny_region_in_a_corner_can_be_looked_at() -> None:
    assert 0 <= look(plain((90, 90, 90)), (318, 238, 320, 240)).area_percent <= 100


def test_a_mask_of_another_picture_is_refused() -> None:
    with pytest.raises(BadInput, match="mask of this picture"):
        overlay(plain((90, 90, 90)), np.zeros((5, 5), np.float32))


def test_a_stronger_trace_of_a_sign_makes_it_likelier() -> None:
    for channel, sign in enumerate(CHANNELS):
        found = []
        for level in (0.1, 0.6, 0.999):
            maps = np.full((7, 8, 8), 0.001, np.float32)
            maps[channel] = level
            found.append(dict(chances(maps, TABLES)[1]).get(sign, 0.0))
        assert all(a <= b for a, b in itertools.pairwise(found)) and found[-1] > 0.5


def test_every_suggestion_is_a_sign_that_the_belief_knows() -> None:
    known = {
        row.text("sign")
        for row in TABLES.rows(
            "signs.csv", ("sign", "meaning", "kind", "sound", "surface", "pitted", "holed", "mended", "masked")
        )
    }
    assert set(CHANNELS) <= known


def test_each_sign_is_suggested_more_often_where_it_is_than_where_nothing_is() -> None:
    rows = TABLES.rows("machine_signs.csv", ("suggested", "truth", "pictures", "chance", "count"))
    chance = {
        (r.text("suggested"), r.text("truth")): r.number("chance", low=0, high=1)
        for r in rows
        if r.text("pictures") == "synthetic"
    }
    for sign in CHANNELS:
        assert chance[sign, sign] > 3 * chance[sign, "none"]
