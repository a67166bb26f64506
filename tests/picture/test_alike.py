"""Copies are found whatever was done to them, different pictures are left alone, and doubts are remarks, not accusations."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from scipy.fft import dctn

from weldworth.picture.alike import alike_within, bits_of, differing, likeness, print_of
from weldworth.picture.doubts import date_remarks, software_remarks
from weldworth.picture.exif import Capture
from weldworth.tables import load_tables

DATA = Path(__file__).parent / "data"
PANELS = {path.stem: np.asarray(Image.open(path).convert("RGB")) for path in sorted(DATA.glob("intake_panel_*.jpg"))}
Image3 = np.ndarray


def squeezed(image: Image3) -> Image3:
    return cv2.imdecode(cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 30])[1], cv2.IMREAD_COLOR)


def cropped(image: Image3) -> Image3:
    height, width = image.shape[:2]
    return image[height // 10 :, : width - width // 10].copy()


def recoloured(image: Image3) -> Image3:
    return np.clip(image * np.array([1.2, 1.0, 0.8]) + 10, 0, 255).astype(np.uint8)


def shrunk(image: Image3) -> Image3:
    return cv2.resize(image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)


def mirrored(image: Image3) -> Image3:
    return np.ascontiguousarray(image[:, ::-1])


@pytest.mark.parametrize("name", PANELS)
@pytest.mark.parametrize(
    ("change", "kinds"),
    [
        (shrunk, {"same"}),
        (squeezed, {"same"}),
        (recoloured, {"same"}),
        (cropped, {"same", "part"}),
        (mirrored, {"mirrored"}),
        (lambda image: squeezed(shrunk(mirrored(cropped(recoloured(image))))), {"mirrored"}),
    ],
    ids=["shrunk", "squeezed", "recoloured", "cropped", "mirrored", "all of it"],
)
def test_a_copy_is_found_whatever_was_done_to_it(name: str, change: Callable[[Image3], Image3], kinds: set[str]) -> None:
    found = likeness(print_of(PANELS[name]), print_of(change(PANELS[name])))
    assert found is not None and found.kind in kinds


def test_different_pictures_of_the_same_day_are_not_copies() -> None:
    prints = [print_of(image) for image in PANELS.values()]
    for i, one in enumerate(prints):
        for other in prints[:i]:
            found = likeness(one, other)
            assert found is None or found.kind == "place"


def test_another_picture_of_the_same_place_is_told_from_a_copy() -> None:
    """One wall of chance, and before it once one panel and once another, two thirds as wide and high."""
    chance = np.random.default_rng(0)
    wall = sum(
        cv2.resize(chance.normal(0, 40, (9 * k, 12 * k, 3)), (800, 600), interpolation=cv2.INTER_CUBIC) for k in (1, 4, 12)
    )
    pictures = []
    for name in ("intake_panel_a", "intake_panel_b"):
        picture = np.clip(128 + wall, 0, 255).astype(np.uint8)
        picture[100:500, 133:667] = cv2.resize(PANELS[name], (534, 400))
        pictures.append(print_of(picture))
    found = likeness(*pictures)
    assert found is not None and found.kind == "place"


def test_two_blank_walls_are_not_alike() -> None:
    walls = [np.full((300, 400, 3), level, np.uint8) for level in (90, 200)]
    assert likeness(print_of(walls[0]), print_of(walls[1])) is None


def test_the_print_agrees_with_a_second_cosine_transform() -> None:
    grey = cv2.cvtColor(PANELS["intake_panel_a"], cv2.COLOR_RGB2GRAY)
    small = cv2.resize(grey, (32, 32), interpolation=cv2.INTER_AREA).astype(float)
    for found, picture in zip(bits_of(grey), (small, small[:, ::-1]), strict=True):
        terms = dctn(picture, norm="ortho")[:8, :8]
        want = int("".join("1" if term else "0" for term in (terms > np.median(terms)).ravel()), 2)
        assert differing(found, want) <= 1


def test_a_repeat_is_remarked_on_once_and_names_the_first() -> None:
    prints = {name: print_of(image) for name, image in PANELS.items()} | {"z": print_of(shrunk(PANELS["intake_panel_a"]))}
    remarks = alike_within(prints)
    assert [(r.code, r.about) for r in remarks] == [("alike", "z")] and "intake_panel_a" in remarks[0].text


TODAY = date(2026, 11, 20)


@pytest.mark.parametrize(
    ("taken", "said", "owned", "code"),
    [
        (datetime(2026, 11, 18, 9), date(2026, 11, 18), None, None),
        (datetime(2026, 11, 17, 23), date(2026, 11, 18), None, None),  # a day of grace for time zones
        (datetime(2025, 6, 1), date(2026, 11, 18), None, "older-than-said"),
        (datetime(2019, 6, 1), date(2026, 11, 18), date(2022, 1, 1), "before-owner"),
        (datetime(2031, 1, 1), None, None, "clock"),
        (None, date(2026, 11, 18), None, "no-date"),
        (None, None, None, None),
    ],
)
def test_a_capture_time_that_does_not_fit_is_remarked_on(
    taken: datetime | None, said: date | None, owned: date | None, code: str | None
) -> None:
    found = date_remarks({"a.jpg": Capture(taken_at=taken)}, today=TODAY, said=said, owned_since=owned)
    assert [remark.code for remark in found] == ([code] if code else [])


@pytest.mark.parametrize(
    ("program", "remarked"), [("GIMP 2.10.34", True), ("Adobe Photoshop 25.1", True), ("17.5.1", False), ("HDR+ 1.0.5", False)]
)
def test_a_program_that_edits_is_remarked_on_and_firmware_is_not(program: str, remarked: bool) -> None:
    found = software_remarks({"a.jpg": Capture(software=(program,))}, load_tables())
    assert bool(found) is remarked
    assert all(word not in remark.text for remark in found for word in ("fake", "forged", "manipulated"))
