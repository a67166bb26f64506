"""A walk-round video gives its sharpest distinct frames, upright, with their time, in little memory."""

from __future__ import annotations

import struct
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from weldworth.core.errors import BadInput
from weldworth.picture import take_in
from weldworth.picture.folder import PictureFolder
from weldworth.picture.limits import limits
from weldworth.picture.video import frames, video_header
from weldworth.tables import load_tables

TABLES = load_tables()
LIMITS = limits(TABLES)
RATE = 12


def scene(number: int, width: int = 320, height: int = 240) -> np.ndarray:
    """One of many quite different pictures, brighter at the top."""
    blocks = np.random.default_rng(number).integers(0, 256, (6, 8, 3), dtype=np.uint8)
    image = cv2.resize(blocks, (width, height), interpolation=cv2.INTER_NEAREST) // 2
    image[: height // 4] += 120
    return image


def filmed(path: Path, pictures: list[np.ndarray], codec: str = "libx264", *, sound: bool = False) -> Path:
    with av.open(str(path), "w") as container:
        if sound:
            voice = container.add_stream("aac", rate=44100, layout="mono")
            frame = av.AudioFrame.from_ndarray(np.zeros((1, 44100), np.float32), format="fltp", layout="mono")
            frame.sample_rate = 44100
            for packet in [*voice.encode(frame), *voice.encode(None)]:
                container.mux(packet)
        if pictures:
            stream = container.add_stream(codec, rate=RATE)
            stream.height, stream.width = pictures[0].shape[:2]
            stream.pix_fmt = "yuv420p"
            for picture in pictures:
                for packet in stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")):
                    container.mux(packet)
            for packet in stream.encode(None):
                container.mux(packet)
    return path


def turned(path: Path) -> Path:
    """Write a quarter turn clockwise into the track header's matrix (ISO/IEC 14496-12, 8.3.2), as a phone held upright does."""
    data = bytearray(path.read_bytes())
    at = data.index(b"tkhd") + 4 + 4 + 20 + 8 + 4 + 4
    matrix = struct.unpack(">9i", data[at : at + 36])
    assert matrix[:2] == (0x10000, 0), "the matrix is not where it is looked for"
    data[at : at + 36] = struct.pack(">9i", 0, 0x10000, 0, -0x10000, 0, 0, 240 << 16, 0, 0x40000000)
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("codec", ["libx264", "libx265"])
@pytest.mark.parametrize("ending", ["mp4", "mov"])
def test_frames_come_once_a_second_from_h264_and_hevc(codec: str, ending: str, tmp_path: Path) -> None:
    path = filmed(tmp_path / f"walk.{ending}", [scene(n // RATE) for n in range(3 * RATE)], codec)
    found = list(frames(path, "walk", LIMITS))
    assert [int(frame.at_s) for frame in found] == [0, 1, 2]
    for number, frame in enumerate(found):
        assert np.abs(frame.pixels.astype(float) - scene(number)).mean() < 20


def test_the_sharpest_frame_of_each_second_is_taken(tmp_path: Path) -> None:
    def shaken(n: int) -> np.ndarray:
        image = scene(n // RATE)
        return image if n % RATE == 7 else cv2.GaussianBlur(image, (0, 0), 6)

    found = list(frames(filmed(tmp_path / "walk.mp4", [shaken(n) for n in range(3 * RATE)]), "walk", LIMITS))
    assert [frame.at_s for frame in found] == pytest.approx([7 / RATE, 1 + 7 / RATE, 2 + 7 / RATE], abs=1.5 / RATE)


def test_a_camera_that_stands_still_gives_one_frame(tmp_path: Path) -> None:
    assert len(list(frames(filmed(tmp_path / "still.mp4", [scene(1)] * (4 * RATE)), "still", LIMITS))) == 1


def test_at_most_n_per_second_are_taken(tmp_path: Path) -> None:
    path = filmed(tmp_path / "walk.mp4", [scene(n) for n in range(3 * RATE)])
    for rate in (0.5, 1, 3):
        assert len(list(frames(path, "walk", LIMITS, per_second=rate))) <= 3 * rate + 1
    with pytest.raises(BadInput, match="above 0"):
        list(frames(path, "walk", LIMITS, per_second=0))


def test_a_video_filmed_upright_comes_out_upright(tmp_path: Path) -> None:
    path = turned(filmed(tmp_path / "up.mp4", [np.ascontiguousarray(np.rot90(scene(3))) for _ in range(RATE)]))
    header = video_header(path, "up", LIMITS)
    assert header.turned == 90 and (header.width, header.height) == (320, 240)
    frame = next(frames(path, "up", LIMITS))
    assert np.abs(frame.pixels.astype(float) - scene(3)).mean() < 20


def test_a_video_is_kept_whole_and_its_frames_are_pictures_of_it(tmp_path: Path) -> None:
    path = filmed(tmp_path / "walk.mp4", [scene(n // RATE) for n in range(2 * RATE)])
    folder = PictureFolder(tmp_path / "kept")
    first = take_in(path, folder, tables=TABLES)
    video = first.videos[0]
    assert folder.get(video.sha256) == path.read_bytes()
    assert [picture.of for picture in first.pictures] == [video.sha256] * 2
    assert first.pictures[1].name == f"walk.mp4 at {first.pictures[1].at_s:.1f} s.jpg"
    assert take_in(path, folder, tables=TABLES) == first, "taken in again it is the same, read from its facts"


def test_a_video_without_a_picture_is_refused(tmp_path: Path) -> None:
    folder = PictureFolder(tmp_path / "kept")
    found = take_in(filmed(tmp_path / "voice.mp4", [], sound=True), folder, tables=TABLES)
    assert "sound but no picture" in found.problems[0].text
    assert not [path for path in folder.root.rglob("*") if path.is_file()]


@pytest.mark.parametrize("keep", [0.05, 0.5])
def test_a_video_cut_off_is_refused_or_read_as_far_as_it_goes(keep: float, tmp_path: Path) -> None:
    data = filmed(tmp_path / "walk.mp4", [scene(n) for n in range(2 * RATE)]).read_bytes()
    (tmp_path / "cut.mp4").write_bytes(data[: int(len(data) * keep)])
    found = take_in(tmp_path / "cut.mp4", PictureFolder(tmp_path / "kept"), tables=TABLES)
    assert found.pictures or "send it again" in found.problems[0].text


def test_noise_after_a_video_header_is_refused(tmp_path: Path) -> None:
    (tmp_path / "bad.mov").write_bytes(b"\0\0\0\x14ftypqt  \0\0\0\0qt  " + np.random.default_rng(0).bytes(5000))
    found = take_in(tmp_path / "bad.mov", PictureFolder(tmp_path / "kept"), tables=TABLES)
    assert "cannot be read as mp4 or mov" in found.problems[0].text
