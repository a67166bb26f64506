"""Pictures taken in: kept whole, read by what they are, turned upright, and refused one by one with a reason."""

from __future__ import annotations

import hashlib
import io
import os
import struct
import zipfile
import zlib
from datetime import datetime, timedelta, timezone
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from weldworth.core.errors import BadInput, NotFound
from weldworth.picture import take_in, working_copy
from weldworth.picture.decode import Opened, decode, upright
from weldworth.picture.exif import capture_of, video_capture
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import Intake
from weldworth.picture.kinds import PICTURES, kind_of
from weldworth.picture.limits import limits
from weldworth.tables import load_tables

DATA = Path(__file__).parent / "data"
PANEL = DATA / "intake_panel_a.jpg"
OPEN_PICTURES = Path(__file__).parents[3] / "shared" / "data" / "robustness"
TABLES = load_tables()
LIMITS = limits(TABLES)


@pytest.fixture
def folder(tmp_path: Path) -> PictureFolder:
    return PictureFolder(tmp_path / "kept")


def scene(width: int = 120, height: int = 90, seed: int = 0) -> np.ndarray:
    """A picture of something: coloured blocks of chance."""
    blocks = np.random.default_rng(seed).integers(0, 255, (6, 8, 3), dtype=np.uint8)
    return cv2.resize(blocks, (width, height), interpolation=cv2.INTER_CUBIC)


def saved(path: Path, image: Image.Image | None = None, **how: object) -> Path:
    (image or Image.fromarray(scene())).save(path, **how)
    return path


def taken(path: Path, folder: PictureFolder) -> Intake:
    return take_in(path, folder, tables=TABLES, workers=2)


def refused(path: Path, folder: PictureFolder) -> str:
    """The one sentence that a file is refused with; nothing of it may be left behind."""
    found = taken(path, folder)
    assert not found.pictures and not found.videos and len(found.problems) == 1
    assert not [item for item in folder.root.rglob("*") if item.is_file()], "something half-written was left"
    assert found.problems[0].where.startswith(path.name)
    return found.problems[0].text


# kept whole


def test_an_original_is_kept_byte_for_byte_under_its_hash(folder: PictureFolder) -> None:
    picture = taken(PANEL, folder).pictures[0]
    assert picture.sha256 == hashlib.sha256(PANEL.read_bytes()).hexdigest()
    assert folder.get(picture.sha256) == PANEL.read_bytes()
    assert not list((folder.root / "arriving").iterdir())


def test_the_same_file_twice_is_one_picture_and_says_so(folder: PictureFolder, tmp_path: Path) -> None:
    for name in ("a.jpg", "b.jpg"):
        (tmp_path / "in").mkdir(exist_ok=True)
        (tmp_path / "in" / name).write_bytes(PANEL.read_bytes())
    found = taken(tmp_path / "in", folder)
    assert [picture.name for picture in found.pictures] == ["a.jpg"]
    assert [(r.code, r.about) for r in found.remarks] == [("same-file", "b.jpg")]


def test_an_intake_that_was_broken_off_goes_on_where_it_stopped(folder: PictureFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    first = take_in([PANEL], folder, tables=TABLES)
    decoded: list[str] = []
    real = Opened.__init__
    monkeypatch.setattr(Opened, "__init__", lambda self, d, k, where, b: (decoded.append(where), real(self, d, k, where, b))[1])
    again = take_in([PANEL, DATA / "intake_panel_b.jpg"], folder, tables=TABLES)
    assert decoded == ["intake_panel_b.jpg"]
    assert again.pictures[0] == first.pictures[0]


def test_an_original_cut_short_by_a_crash_is_written_anew(folder: PictureFolder) -> None:
    sha256 = taken(PANEL, folder).pictures[0].sha256
    folder.path(sha256).write_bytes(b"")
    assert taken(PANEL, folder).pictures
    assert folder.get(sha256) == PANEL.read_bytes()


def test_previews_and_working_copies_carry_no_metadata(folder: PictureFolder) -> None:
    picture = taken(PANEL, folder).pictures[0]
    assert picture.capture.camera, "the original must have metadata for this to say anything"
    for data, longest in ((folder.get(picture.sha256, "preview"), 400), (working_copy(picture.sha256, folder), 1600)):
        made = Image.open(io.BytesIO(data))
        assert not dict(made.getexif()) and not {"exif", "xmp", "icc_profile", "comment"} & set(made.info)
        assert max(made.size) == min(longest, 1024)


def test_a_working_copy_of_a_picture_that_is_not_there_is_not_found(folder: PictureFolder) -> None:
    with pytest.raises(NotFound, match="take the picture in again"):
        working_copy("0" * 64, folder)


def test_a_hash_that_is_none_cannot_reach_outside_the_folder(folder: PictureFolder) -> None:
    with pytest.raises(BadInput, match="64 hexadecimal digits"):
        folder.get("../../etc/passwd")


def test_progress_counts_every_file_once(folder: PictureFolder) -> None:
    seen: list[tuple[int, int]] = []
    names = sorted(DATA.glob("intake_panel_*.jpg"))
    take_in(names, folder, tables=TABLES, progress=lambda done, of, name: seen.append((done, of)))
    assert seen == [(n, len(names)) for n in range(1, len(names) + 1)]


def test_the_order_is_that_of_the_names_however_many_work(folder: PictureFolder) -> None:
    names = [p.name for p in take_in(DATA, folder, tables=TABLES, workers=4).pictures]
    assert names == sorted(names)


# read by what they are


@pytest.mark.parametrize(("ending", "how"), [("png", {}), ("webp", {}), ("tif", {}), ("avif", {}), ("jpg", {}), ("gif", {})])
def test_every_kind_of_picture_is_taken(ending: str, how: dict[str, object], folder: PictureFolder, tmp_path: Path) -> None:
    picture = taken(saved(tmp_path / f"zone.{ending}", **how), folder).pictures[0]
    assert (picture.width, picture.height) == (120, 90) and picture.kind in PICTURES


def test_heic_is_taken(folder: PictureFolder) -> None:
    assert taken(DATA / "intake_dog.heic", folder).pictures[0].kind == "HEIC"


def test_content_decides_not_the_name(folder: PictureFolder, tmp_path: Path) -> None:
    found = taken(saved(tmp_path / "really.png", format="JPEG"), folder)
    assert found.pictures[0].kind == "JPEG" and [r.code for r in found.remarks] == ["mislabelled"]


@pytest.mark.parametrize("mode", ["CMYK", "P", "L", "1", "RGBA", "LA", "I;16"])
def test_odd_colour_modes_come_out_as_red_green_and_blue(mode: str, tmp_path: Path) -> None:
    if mode == "I;16":
        image = Image.fromarray(cv2.cvtColor(scene(), cv2.COLOR_RGB2GRAY).astype(np.uint16) * 257)
    else:
        image = Image.fromarray(scene()).convert(mode)
    path = saved(tmp_path / "odd.tif", image)
    pixels = decode(path.read_bytes(), "TIFF", "odd", LIMITS).pixels
    assert pixels.shape == (90, 120, 3) and pixels.dtype == np.uint8
    want = cv2.blur(np.asarray(Image.fromarray(scene()).convert("L"), dtype=float), (9, 9))
    assert np.abs(cv2.blur(pixels.mean(axis=2), (9, 9)) - want).mean() < 20


def test_printing_colours_and_deep_pictures_are_remarked_on(folder: PictureFolder, tmp_path: Path) -> None:
    saved(tmp_path / "print.jpg", Image.fromarray(scene()).convert("CMYK"))
    saved(tmp_path / "deep.png", Image.fromarray(cv2.cvtColor(scene(), cv2.COLOR_RGB2GRAY).astype(np.uint16) * 257))
    found = take_in([tmp_path / "print.jpg", tmp_path / "deep.png"], folder, tables=TABLES)
    assert {r.about: r.code for r in found.remarks} == {"print.jpg": "cmyk", "deep.png": "deep"}


@pytest.mark.parametrize("ending", ["gif", "webp", "png"])
def test_of_an_animation_the_first_frame_is_taken_and_it_is_said(ending: str, folder: PictureFolder, tmp_path: Path) -> None:
    first, second = Image.fromarray(scene(seed=1)), Image.fromarray(scene(seed=2))
    path = saved(tmp_path / f"moving.{ending}", first, save_all=True, append_images=[second], duration=100)
    found = taken(path, folder)
    assert [r.code for r in found.remarks] == ["first-only"]
    pixels = decode(path.read_bytes(), found.pictures[0].kind, "moving", LIMITS).pixels.astype(float)
    assert np.abs(pixels - scene(seed=1)).mean() < np.abs(pixels - scene(seed=2)).mean()


# upright


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


# what the camera wrote


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


# refused


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("zero.jpg", b"", "empty"),
        ("notes.txt", b"zone by zone", "text file"),
        ("deed.pdf", b"%PDF-1.4 ...", "PDF document"),
        ("noise.jpg", bytes(range(256)) * 4, "not a picture or video"),
        ("half.jpg", PANEL.read_bytes()[:20000], "cut off"),
        ("head.png", b"\x89PNG\r\n\x1a\n", "cannot be read"),
    ],
)
def test_files_that_are_no_pictures_are_refused_by_name(
    name: str, content: bytes, says: str, folder: PictureFolder, tmp_path: Path
) -> None:
    (tmp_path / name).write_bytes(content)
    assert says in refused(tmp_path / name, folder)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", ["broken.png", "crash.tif", "corrupted.heic", "bomb.gif", "textbomb.png"])
def test_real_broken_files_are_refused_with_a_remedy(name: str, folder: PictureFolder) -> None:
    """Files that broke decoders once (Pillow and pillow-heif test pictures)."""
    text = refused(DATA / f"intake_{name}", folder)
    assert any(word in text for word in ("send it again", "save it", "take it again")), text


def png_claiming(width: int, height: int) -> bytes:
    """A PNG of a hundred bytes that claims to be that large (ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("side", [9500, 60000])
def test_a_decompression_bomb_is_refused_from_its_header(side: int, folder: PictureFolder, tmp_path: Path) -> None:
    (tmp_path / "bomb.png").write_bytes(png_claiming(side, side))
    assert "save it smaller" in refused(tmp_path / "bomb.png", folder)


def test_a_picture_of_nothing_is_refused(folder: PictureFolder, tmp_path: Path) -> None:
    saved(tmp_path / "pocket.jpg", Image.new("RGB", (400, 300), (12, 12, 12)))
    assert "uncover the lens" in refused(tmp_path / "pocket.jpg", folder)


def test_a_thumbnail_is_refused(folder: PictureFolder, tmp_path: Path) -> None:
    saved(tmp_path / "icon.png", Image.fromarray(scene(20, 20)))
    assert "20 x 20" in refused(tmp_path / "icon.png", folder)


def test_a_name_that_leads_nowhere_and_a_pipe_are_refused_and_do_not_hang(folder: PictureFolder, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.jpg")
    found = take_in([tmp_path / "gone.jpg", tmp_path / "pipe.jpg", PANEL], folder, tables=TABLES)
    assert len(found.pictures) == 1 and ["check the name" in p.text or "ordinary" in p.text for p in found.problems] == [True] * 2


# zips


def zipped(path: Path, members: dict[str, bytes], how: int = zipfile.ZIP_STORED) -> Path:
    with zipfile.ZipFile(path, "w", how) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


def test_pictures_in_a_zip_are_taken_and_litter_is_passed_over(folder: PictureFolder, tmp_path: Path) -> None:
    members = {"walk/left.jpg": PANEL.read_bytes(), "__MACOSX/walk/._left.jpg": b"x", "walk/.DS_Store": b"x"}
    found = taken(zipped(tmp_path / "walk.zip", members), folder)
    assert [p.name for p in found.pictures] == ["walk.zip: walk/left.jpg"] and not found.problems


@pytest.mark.parametrize("name", ["../../outside.jpg", "/etc/outside.jpg", "C:/outside.jpg", "a/../../b.jpg", "..\\..\\b.jpg"])
def test_names_that_point_outside_the_zip_are_refused_and_the_others_go_on(
    name: str, folder: PictureFolder, tmp_path: Path
) -> None:
    found = taken(zipped(tmp_path / "walk.zip", {name: PANEL.read_bytes(), "good.jpg": PANEL.read_bytes()}), folder)
    assert [p.name for p in found.pictures] == ["walk.zip: good.jpg"]
    assert len(found.problems) == 1 and "outside the zip" in found.problems[0].text


def test_a_zip_in_a_zip_is_refused(folder: PictureFolder, tmp_path: Path) -> None:
    inner = zipped(tmp_path / "inner.zip", {"a.jpg": PANEL.read_bytes()}).read_bytes()
    assert "zip inside a zip" in refused(zipped(tmp_path / "outer.zip", {"inner.zip": inner}), folder)


def test_a_locked_zip_is_refused(folder: PictureFolder, tmp_path: Path) -> None:
    data = bytearray(zipped(tmp_path / "walk.zip", {"a.jpg": PANEL.read_bytes()}).read_bytes())
    data[6] |= 1  # general purpose bit 0 of the local header (APPNOTE 4.4.4)
    data[data.rindex(b"PK\x01\x02") + 8] |= 1  # and of the central directory
    (tmp_path / "walk.zip").write_bytes(data)
    assert "password" in refused(tmp_path / "walk.zip", folder)


def test_a_member_that_grows_too_much_is_refused(folder: PictureFolder, tmp_path: Path) -> None:
    path = zipped(tmp_path / "bomb.zip", {"flat.png": b"\0" * 3_000_000}, zipfile.ZIP_DEFLATED)
    assert "fold on unpacking" in refused(path, folder)


def test_too_many_members_are_refused(folder: PictureFolder, tmp_path: Path) -> None:
    path = zipped(tmp_path / "many.zip", {f"{n}.jpg": b"" for n in range(2001)})
    assert "2001 files" in refused(path, folder)


def test_a_zip_that_claims_too_much_in_all_is_refused(folder: PictureFolder, tmp_path: Path) -> None:
    data = bytearray(zipped(tmp_path / "huge.zip", {f"{n}.jpg": PANEL.read_bytes() for n in range(3)}).read_bytes())
    at = 0
    while (at := data.find(b"PK\x01\x02", at)) >= 0:
        data[at + 24 : at + 28] = struct.pack("<I", 3_000_000_000)  # uncompressed size (APPNOTE 4.4.9)
        at += 4
    (tmp_path / "huge.zip").write_bytes(data)
    assert "9.0 GB" in refused(tmp_path / "huge.zip", folder)


def test_a_zip_cut_off_and_an_empty_one_are_refused(folder: PictureFolder, tmp_path: Path) -> None:
    whole = zipped(tmp_path / "whole.zip", {"a.jpg": PANEL.read_bytes()}).read_bytes()
    (tmp_path / "cut.zip").write_bytes(whole[:-30])
    assert "cut off" in refused(tmp_path / "cut.zip", folder)
    assert "nothing in it" in refused(zipped(tmp_path / "empty.zip", {}), folder)


def test_a_damaged_member_is_refused_and_the_others_go_on(folder: PictureFolder, tmp_path: Path) -> None:
    path = zipped(tmp_path / "walk.zip", {"a.jpg": PANEL.read_bytes(), "b.jpg": (DATA / "intake_panel_b.jpg").read_bytes()})
    data = bytearray(path.read_bytes())
    data[5000] ^= 0xFF
    path.write_bytes(data)
    found = taken(path, folder)
    assert [p.name for p in found.pictures] == ["walk.zip: b.jpg"]
    assert [p.where for p in found.problems] == ["walk.zip: a.jpg"] and "send it again" in found.problems[0].text


# everything at once


def test_a_limit_that_is_missing_or_unknown_is_named(tmp_path: Path) -> None:
    text = (Path(TABLES.path("picture_limits.csv"))).read_text().replace("least_side,", "least_sides,")
    (tmp_path / "picture_limits.csv").write_text(text)
    with pytest.raises(BadInput, match="'least_side' is missing") as found:
        limits(load_tables(tmp_path))
    assert len(found.value.problems) == 2


def test_kinds_are_told_from_any_first_bytes() -> None:
    rng = np.random.default_rng(0)
    for length in (0, 1, 3, 8, 12, 40, 512):
        for _ in range(50):
            assert kind_of(rng.bytes(length))
            assert kind_of(b"\0\0\0\x18ftyp" + rng.bytes(length))


@pytest.mark.filterwarnings("ignore")
@pytest.mark.skipif(not OPEN_PICTURES.is_dir(), reason="the folder of open test pictures is not beside the project")
def test_a_thousand_odd_and_broken_files_are_each_read_or_refused_with_a_reason(folder: PictureFolder) -> None:
    """The test files of four open decoder projects; docs/pictures.md has the outcomes."""
    files = [path for path in OPEN_PICTURES.rglob("*") if path.is_file()]
    found = take_in(OPEN_PICTURES, folder, tables=TABLES, workers=2)
    same = sum(remark.code == "same-file" for remark in found.remarks)
    stills = sum(picture.of is None for picture in found.pictures)
    assert stills + len(found.videos) + len(found.problems) + same == len(files)
    for problem in found.problems:
        assert problem.text and "Traceback" not in problem.text and "object at 0x" not in problem.text
    assert not list((folder.root / "arriving").iterdir())
