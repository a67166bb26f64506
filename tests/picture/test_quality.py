"""A picture is worth what it could have shown: more blur, less light and fewer pixels never raise q."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from weldworth.core.errors import BadInput, NotFound
from weldworth.picture import check
from weldworth.picture.quality import scales, sharpness
from weldworth.tables import load_tables

DATA = Path(__file__).parent / "data"
PANELS = sorted(DATA.glob("intake_panel_*.jpg"))
TABLES = load_tables()


def pixels(path: Path) -> np.ndarray:
    return np.asarray(Image.open(path).convert("RGB"))


def falling(values: list[float]) -> bool:
    return all(a >= b for a, b in pairwise(values))


@pytest.mark.parametrize("path", PANELS, ids=lambda path: path.stem)
def test_more_blur_never_raises_q(path: Path) -> None:
    image = pixels(path)
    found = [check(image, tables=TABLES).q]
    found += [check(cv2.GaussianBlur(image, (0, 0), s), tables=TABLES).q for s in (0.4, 0.8, 1.5, 3, 6, 12, 25)]
    assert falling(found) and found[-1] < 0.2 * found[0]


@pytest.mark.parametrize("path", PANELS, ids=lambda path: path.stem)
def test_more_shake_never_raises_q(path: Path) -> None:
    image = pixels(path)
    found = [check(image, tables=TABLES).q]
    found += [check(cv2.blur(image, (length, 1)), tables=TABLES).q for length in (3, 7, 15, 31)]
    assert falling(found) and found[-1] < found[0]


@pytest.mark.parametrize("path", PANELS, ids=lambda path: path.stem)
def test_darker_never_raises_q(path: Path) -> None:
    image = pixels(path).astype(float)
    found = [check((image * k).astype(np.uint8), tables=TABLES).q for k in (1, 0.9, 0.7, 0.5, 0.3, 0.2, 0.1, 0.05)]
    assert falling(found) and found[-1] < 0.1


@pytest.mark.parametrize("path", PANELS, ids=lambda path: path.stem)
def test_fewer_pixels_on_the_same_zone_never_raise_q(path: Path) -> None:
    image = pixels(path)
    found = [
        check(cv2.resize(image, None, fx=k, fy=k, interpolation=cv2.INTER_AREA), tables=TABLES).q
        for k in (1, 0.8, 0.6, 0.4, 0.25, 0.1)
    ]
    assert falling(found) and found[-1] < 0.2


def test_a_smaller_region_of_even_texture_never_raises_q() -> None:
    grain = np.random.default_rng(0).normal(128, 40, (1000, 1000, 1)).clip(0, 255)
    image = cv2.GaussianBlur(np.repeat(grain, 3, axis=2), (0, 0), 1.2).astype(np.uint8)
    found = [check(image, (500 - h, 500 - h, 500 + h, 500 + h), tables=TABLES).q for h in (500, 350, 200, 100, 50, 20)]
    assert falling(found) and found[-1] < 0.25


def test_contrast_alone_does_not_make_a_picture_sharp() -> None:
    grey = cv2.cvtColor(pixels(PANELS[0]), cv2.COLOR_RGB2GRAY)
    soft = (128 + (grey.astype(float) - 128) * 0.6).astype(np.uint8)
    assert sharpness(soft) == pytest.approx(sharpness(grey), rel=0.1)


def test_a_burnt_out_picture_darkened_afterwards_stays_bad() -> None:
    burnt = np.clip(pixels(PANELS[0]).astype(float) * 3.5, 0, 255)
    verdict = check(burnt.astype(np.uint8), tables=TABLES)
    assert "bright" in verdict.faults
    assert check((burnt * 0.6).astype(np.uint8), tables=TABLES).q <= verdict.q


def test_the_glare_of_a_flash_is_named_with_its_remedy() -> None:
    image = pixels(PANELS[0]).copy()
    height, width = image.shape[:2]
    cv2.ellipse(image, (width // 2, height // 2), (width // 6, height // 5), 0, 0, 360, (255, 255, 255), -1)
    verdict = check(image, tables=TABLES)
    assert "glare" in verdict.faults and "aside" in verdict.words and verdict.q < check(PANELS[0], tables=TABLES).q


@pytest.mark.parametrize(
    ("spoil", "fault", "remedy"),
    [
        (lambda image: cv2.GaussianBlur(image, (0, 0), 5), "sharp", "both hands"),
        (lambda image: (image * 0.1).astype(np.uint8), "dark", "lamp on"),
        (lambda image: cv2.resize(image, None, fx=0.15, fy=0.15, interpolation=cv2.INTER_AREA), "pixels", "Step closer"),
    ],
)
def test_each_fault_comes_with_its_remedy(spoil: object, fault: str, remedy: str) -> None:
    verdict = check(spoil(pixels(PANELS[0])), tables=TABLES)  # type: ignore[operator]
    assert fault in verdict.faults and remedy in verdict.words


def test_a_good_picture_taken_to_instructions_is_worth_what_the_trade_says() -> None:
    """0.8 to 0.95 (common practice, no source): rust texture filling 1024 x 1024 pixels, sharp and evenly lit."""
    grain = np.random.default_rng(1).normal(120, 45, (1024, 1024, 3))
    image = cv2.GaussianBlur(grain, (0, 0), 0.8).clip(0, 255).astype(np.uint8)
    verdict = check(image, tables=TABLES)
    assert 0.8 <= verdict.q <= 0.95 and not verdict.faults


def test_wet_metal_counts_only_when_somebody_says_so() -> None:
    dry, wet = check(PANELS[0], tables=TABLES), check(PANELS[0], wet=True, tables=TABLES)
    assert dry.wet is None and wet.q == pytest.approx(0.4 * dry.q, abs=0.002) and "Wipe it dry" in wet.words


def test_a_file_squeezed_hard_is_worth_less_and_told_so(tmp_path: Path) -> None:
    image, found = Image.open(PANELS[0]).convert("RGB"), []
    for quality in (90, 70, 40, 20, 8):
        image.save(tmp_path / "x.jpg", quality=quality)
        found.append(check(tmp_path / "x.jpg", tables=TABLES))
    assert found[-1].q < 0.5 * found[0].q and "saved" in found[-1].faults
    # the scale that the encoder itself uses; below 20 its tables run into their largest value
    assert [v.saved for v in found[:4]] == pytest.approx([90, 70, 40, 20], abs=1.5)


def test_a_region_is_judged_by_itself() -> None:
    image = pixels(PANELS[0]).copy()
    half = image.shape[1] // 2
    image[:, half:] = cv2.GaussianBlur(image, (0, 0), 8)[:, half:]
    left = check(image, (0, 0, half, image.shape[0]), tables=TABLES)
    right = check(image, (half + 30, 0, image.shape[1], image.shape[0]), tables=TABLES)
    assert left.q > 2 * right.q and "sharp" in right.faults


def test_a_region_in_a_file_is_counted_in_the_pixels_of_the_file(tmp_path: Path) -> None:
    Image.fromarray(cv2.resize(pixels(PANELS[0]), (4000, 1800))).save(tmp_path / "big.jpg")
    assert check(tmp_path / "big.jpg", (1000, 500, 1600, 1100), tables=TABLES).pixels == 600


@pytest.mark.parametrize("region", [(2000, 0, 2100, 50), (10, 10, 10, 40), (50, 50, 20, 20), (-20, -20, -5, -5)])
def test_a_region_outside_the_picture_is_refused(region: tuple[int, int, int, int]) -> None:
    with pytest.raises(BadInput, match="outside the picture"):
        check(PANELS[0], region, tables=TABLES)


@pytest.mark.parametrize("image", [np.zeros((5, 5), np.uint8), np.zeros((5, 5, 3)), np.zeros((0, 5, 3), np.uint8)])
def test_pixels_of_another_shape_are_refused(image: np.ndarray) -> None:
    with pytest.raises(BadInput, match="give uint8 of shape"):
        check(image)


def test_files_that_are_not_there_or_no_pictures_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("no")
    with pytest.raises(NotFound):
        check(tmp_path / "gone.jpg")
    with pytest.raises(BadInput, match="text file"):
        check(tmp_path / "a.txt")
    with pytest.raises(BadInput, match="cannot be opened"):
        check(tmp_path)


@pytest.mark.parametrize("seed", range(6))
def test_any_small_picture_has_a_q_between_0_and_1(seed: int) -> None:
    rng = np.random.default_rng(seed)
    height, width = rng.integers(1, 40, 2)
    for image in (rng.integers(0, 256, (height, width, 3), dtype=np.uint8), np.full((height, width, 3), seed * 51, np.uint8)):
        assert 0 <= check(image, tables=TABLES).q <= 1


def test_a_quality_table_out_of_order_is_refused(tmp_path: Path) -> None:
    text = TABLES.path("picture_quality.csv").read_text().replace("pixels,100,", "pixels,900,").replace("wet,1,", "damp,1,")
    (tmp_path / "picture_quality.csv").write_text(text)
    with pytest.raises(BadInput) as found:
        scales(load_tables(tmp_path))
    assert sorted(problem.text for problem in found.value.problems) == [
        "measure 'damp' is not known",
        "measure 'wet' is missing",
        "values of 'pixels' must rise from row to row",
    ]
