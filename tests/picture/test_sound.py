"""Voice memos sized up: what browsers record is taken, with its length; everything else is refused with its reason."""

from __future__ import annotations

import math
import struct
import wave
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from av import AudioFrame, VideoFrame

from weldworth.core.errors import BadInput
from weldworth.picture.limits import limits
from weldworth.picture.sound import sound_of
from weldworth.tables import load_tables

BOUNDS = limits(load_tables())


def tone(path: Path, seconds: float = 2.0) -> Path:
    """A tone of 440 Hz as a plain wav file (RIFF, 16 bit, 8 kHz)."""
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        n = int(8000 * seconds)
        out.writeframes(b"".join(struct.pack("<h", int(9000 * math.sin(2 * math.pi * 440 * i / 8000))) for i in range(n)))
    return path


def spoken(path: Path, codec: str, form: str, seconds: float = 2.0, *, picture: bool = False) -> Path:
    """The same as a browser would write it."""
    with av.open(str(path), "w", format=form) as out:
        stream = out.add_stream(codec, rate=48000)
        video = out.add_stream("libvpx", rate=10) if picture else None
        if video is not None:
            video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
        for n in range(int(seconds * 48000) // 960):
            wave_form = (9000 * np.sin(2 * np.pi * 440 * (np.arange(960) + n * 960) / 48000)).astype(np.int16)
            frame = AudioFrame.from_ndarray(wave_form.reshape(1, -1), format="s16", layout="mono")
            frame.sample_rate, frame.pts, frame.time_base = 48000, n * 960, Fraction(1, 48000)
            out.mux(stream.encode(frame))
        if video is not None:
            out.mux(video.encode(VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="rgb24")))
            out.mux(video.encode())
        out.mux(stream.encode())
    return path


@pytest.mark.parametrize(
    ("codec", "form", "media"),
    [("libopus", "webm", "audio/webm"), ("libopus", "ogg", "audio/ogg"), ("aac", "ipod", "audio/mp4")],
)
def test_what_browsers_record_is_taken_with_its_length(tmp_path: Path, codec: str, form: str, media: str) -> None:
    found = sound_of(spoken(tmp_path / "memo", codec, form), BOUNDS)
    assert found.media == media and found.seconds == pytest.approx(2.0, abs=0.1)


def test_a_plain_wav_is_taken(tmp_path: Path) -> None:
    found = sound_of(tone(tmp_path / "memo.wav", 3.0), BOUNDS)
    assert found.media == "audio/wav" and found.seconds == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("name", "words"),
    [("text", "no sound recording"), ("picture", "no sound recording"), ("cut", "cannot be read"), ("film", "This is a video")],
)
def test_what_is_no_memo_is_refused(tmp_path: Path, name: str, words: str) -> None:
    path = tmp_path / name
    if name == "film":
        spoken(path, "libopus", "webm", picture=True)
    elif name == "cut":
        path.write_bytes(spoken(tmp_path / "whole", "aac", "ipod").read_bytes()[:2000])
    else:
        path.write_bytes({"text": b"spoken words, written down", "picture": b"\xff\xd8\xff\xe0" + bytes(400)}[name])
    with pytest.raises(BadInput, match=words):
        sound_of(path, BOUNDS)


def test_silence_of_no_length_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no sound in this recording"):
        sound_of(tone(tmp_path / "memo.wav", 0.0), BOUNDS)


def test_too_long_and_too_large_are_refused_with_the_bounds(tmp_path: Path) -> None:
    memo = tone(tmp_path / "memo.wav", 3.0)
    with pytest.raises(BadInput, match="minutes, more than 0"):
        sound_of(memo, replace(BOUNDS, memo_seconds=2.0))
    with pytest.raises(BadInput, match="larger than 0 MB"):
        sound_of(memo, replace(BOUNDS, memo_bytes=40_000))
