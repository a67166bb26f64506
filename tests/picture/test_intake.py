"""Pictures taken in: kept whole under their hash, and read by what they are."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from taking import DATA, LIMITS, OPEN_PICTURES, PANEL, TABLES, saved, scene, taken

from weldworth.core.errors import BadInput, NotFound
from weldworth.picture import take_in, working_copy
from weldworth.picture.decode import Opened, decode
from weldworth.picture.folder import PictureFolder
from weldworth.picture.kinds import PICTURES, kind_of
from weldworth.picture.limits import limits
from weldworth.tables import load_tables


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
