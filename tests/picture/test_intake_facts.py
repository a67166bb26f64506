"""Pictures taken in: turned upright, and what the camera wrote into them."""

from __future__ import annotations

import io
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest
from PIL import Image
from taking import DATA, LIMITS, PANEL, scene, taken

from weldworth.picture.decode import decode, upright
from weldworth.picture.exif import capture_of, video_capture
from weldworth.picture.folder import PictureFolder


def test_all_eight_orientations_of_one_picture_come_out_alike() -> None:
    """Real files: eight stored turns of one letter F (exifr test pictures, MIT); the camera standard is CIPA DC-008."""
    found = []
    for turn in range(1, 9):
        data = (DATA / f"intake_turned_{turn}.jpg").read_bytes()
        decoded = decode(data, "JPEG", "F", LIMITS)
        assert decoded.header.capture.orientation == turn
        assert (decoded.header.width, decoded.header.height) == (48, 80) == decoded.pixels.shape[1::-1]
        found.append(decoded.pixels.astype(float))
    assert max(np.abs(pixels - found[0]).mean() for pixels in found) < 8


@pytest.mark.parametrize("turn", range(1, 9))
def test_turning_agrees_with_pillow(turn: int) -> None:
    """A second method: Pillow's own transposition by the same tag."""
    from PIL import ImageOps

    image = Image.fromarray(scene(9, 5))
    image.getexif()[0x0112] = turn
    file = io.BytesIO()
    image.save(file, "PNG", exif=image.getexif())
    want = np.asarray(ImageOps.exif_transpose(Image.open(file)))
    assert np.array_equal(upright(scene(9, 5), turn), want)


def test_an_avif_is_turned_as_libheif_shows_it() -> None:
    """A second method: libheif applies the turn itself and tells the size as shown (Pillow test picture, MIT-CMU)."""
    import pi_heif

    path = DATA / "intake_turned.avif"
    stored = Image.open(path).size
    shown = pi_heif.open_heif(path).size
    pixels = decode(path.read_bytes(), "AVIF", "a", LIMITS).pixels
    assert pixels.shape[1::-1] == shown and shown != stored


def test_heic_is_not_turned_twice(folder: PictureFolder) -> None:
    """A real file 29 wide and 100 high must stay so."""
    pixels = decode((DATA / "intake_narrow.heif").read_bytes(), "HEIC", "n", limits_with(least_side=8)).pixels
    assert pixels.shape == (100, 29, 3)


def limits_with(**changed: float) -> object:
    from dataclasses import replace

    return replace(LIMITS, **changed)


def test_the_capture_facts_of_a_real_phone_picture_are_read(folder: PictureFolder) -> None:
    capture = taken(PANEL, folder).pictures[0].capture
    assert capture.taken_at == datetime(2025, 7, 5, 12, 20, 40) and "V2146" in capture.camera and capture.position is None


def test_place_and_offset_are_read() -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0x9003: "2024:05:06 07:08:09", 0x9011: "-06:00"})
    exif.get_ifd(0x8825).update({1: "S", 2: (33.0, 51.0, 35.9), 3: "W", 4: (70.0, 30.0, 0.0)})
    capture = capture_of(exif)
    assert capture.taken_at == datetime(2024, 5, 6, 7, 8, 9, tzinfo=timezone(timedelta(hours=-6)))
    assert capture.position == pytest.approx((-(33 + 51 / 60 + 35.9 / 3600), -70.5), abs=1e-6)


@pytest.mark.parametrize("stamp", ["0000:00:00 00:00:00", "    :  :     :  :  ", "2024:13:45 99:99:99", "soon", ""])
def test_a_capture_time_that_does_not_exist_is_left_out(stamp: str) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = stamp
    assert capture_of(exif).taken_at is None


@pytest.mark.parametrize("angle", [(float("nan"), 0, 0), (91, 0, 0), (0, 0, 0), "x", None, ()])
def test_a_place_that_does_not_exist_is_left_out(angle: object) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: angle, 3: "E", 4: (0.0, 0.0, 0.0)})
    assert capture_of(exif).position is None


def test_programs_named_in_xmp_are_found_without_parsing_it() -> None:
    xmp = b'<a xmp:CreatorTool="Editor 3"><stEvt:softwareAgent>Other 4</stEvt:softwareAgent>'
    assert capture_of(Image.Exif(), xmp).software == ("Editor 3", "Other 4")


def test_the_place_in_a_video_is_read_as_iso_6709_writes_it() -> None:
    assert video_capture({"location": "+51.4169-000.0806/"}).position == (51.4169, -0.0806)
