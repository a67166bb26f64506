"""What is no picture, and zips: refused one by one with a reason, and the others go on."""

from __future__ import annotations

import os
import struct
import zipfile
import zlib
from pathlib import Path

import pytest
from PIL import Image
from taking import DATA, PANEL, TABLES, refused, saved, scene, taken

from weldworth.picture import take_in
from weldworth.picture.folder import PictureFolder


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
