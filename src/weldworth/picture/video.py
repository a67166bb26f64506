"""The sharpest distinct frames of a video, one at a time, upright, with their time.

One decoded frame is held beside the decoder's own, however long the video is. mp4 and mov, whatever codec is inside and
known (h264, hevc, mpeg4, ...).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
from av.video.frame import VideoFrame

from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.picture.alike import bits_of, differing
from weldworth.picture.decode import Pixels
from weldworth.picture.exif import Capture, video_capture
from weldworth.picture.limits import Limits
from weldworth.picture.quality import sharpness

av.logging.set_level(av.logging.PANIC)

_SMALL = 480  # long side in pixels at which frames are compared with each other


@dataclass(frozen=True, slots=True)
class VideoHeader:
    """width, height : upright, in pixels. seconds : length, 0 where the file does not say. turned : degrees clockwise."""

    seconds: float
    width: int
    height: int
    codec: str
    turned: int
    capture: Capture


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """pixels : upright, uint8 (height, width, 3), sRGB. at_s : seconds from the start. sharp : as `quality.sharpness`."""

    pixels: Pixels
    at_s: float
    sharp: float


def video_header(path: Path, where: str, limits: Limits) -> VideoHeader:
    """Size up a video. Raises BadInput where it cannot be read, holds no video stream, or is too large or too long."""
    try:
        with _opened(path) as container:
            if not container.streams.video:
                raise BadInput([Problem(where, "holds sound but no picture; film it again, or send single pictures")])
            stream = container.streams.video[0]
            frame = next(container.decode(stream), None)
            if frame is None:
                raise BadInput([Problem(where, "holds not one picture that can be decoded; film it again or send pictures")])
            turned = -frame.rotation % 360
            width, height = (frame.height, frame.width) if turned in (90, 270) else (frame.width, frame.height)
            seconds = float((container.duration or 0) / av.time_base)
            capture = video_capture({**stream.metadata, **container.metadata})
            header = VideoHeader(seconds, width, height, stream.codec_context.name, turned, capture)
    except BadInput:
        raise
    except Exception as fault:  # a demuxer or decoder meeting a damaged file may raise anything
        raise BadInput([Problem(where, _unreadable(fault))]) from None
    if width * height > limits.video_pixels:
        text = f"has frames of {width} x {height}, more than the {limits.video_pixels / 1e6:.0f} million pixels of 4K; film in 4K"
        raise BadInput([Problem(where, text)])
    if seconds > limits.video_seconds:
        text = f"runs {seconds / 60:.0f} minutes, more than {limits.video_seconds / 60:.0f}; send it in shorter pieces"
        raise BadInput([Problem(where, text)])
    return header


def _opened(path: Path) -> av.container.InputContainer:
    return av.open(str(path), format="mov", metadata_errors="replace")


def _unreadable(fault: Exception) -> str:
    reason = " ".join(str(getattr(fault, "strerror", None) or fault).split())[:100] or type(fault).__name__
    return f"cannot be read as mp4 or mov ({reason}); it may be cut off: copy or send it again from the phone"


def frames(path: Path, where: str, limits: Limits, *, per_second: float | None = None) -> Iterator[Frame]:
    """The sharpest frame of each stretch of 1 / `per_second` seconds that does not repeat one given before.

    Ends quietly at damage inside the file: what came before it is good. At most `video_frames` of picture_limits.csv.
    Raises BadInput as `video_header` does, and for `per_second` not above 0.
    """
    rate = per_second if per_second is not None else limits.video_per_second
    if not rate > 0:
        raise BadInput([Problem(where, f"{rate:g} frames per second asked for; give a number above 0, such as 1")])
    video_header(path, where, limits)
    given: list[int] = []
    for frame, at_s, sharp in _sharpest(path, rate, limits):
        bits, _ = bits_of(_small(frame))
        if all(differing(bits, known) >= limits.video_apart for known in given):
            given.append(bits)
            yield Frame(_turned(frame), round(at_s, 3), round(sharp, 4))
        if len(given) >= limits.video_frames:
            return


def _sharpest(path: Path, rate: float, limits: Limits) -> Iterator[tuple[VideoFrame, float, float]]:
    best: tuple[VideoFrame, float, float] | None = None
    stretch = 0
    for frame in _decoded(path, limits):
        at_s = max(0.0, float(frame.time or 0.0))
        if best is not None and int(at_s * rate) != stretch:
            yield best
            best = None
        if best is None:
            stretch = int(at_s * rate)
        sharp = sharpness(_small(frame))
        if best is None or sharp > best[2]:
            best = (frame, at_s, sharp)
    if best is not None:
        yield best


def _decoded(path: Path, limits: Limits) -> Iterator[VideoFrame]:
    """Frames that others are predicted from or that stand alone; the rest are skipped, being near copies of them."""
    with _opened(path) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        stream.codec_context.thread_count = 2
        stream.codec_context.skip_frame = "NONREF"
        try:
            for frame in container.decode(stream):
                if frame.width * frame.height > limits.video_pixels or float(frame.time or 0) > limits.video_seconds:
                    return
                yield frame
        except av.error.FFmpegError:
            return


def _small(frame: VideoFrame) -> Pixels:
    """Grey copy, uint8 (height, width), long side 480 pixels, not turned."""
    scale = _SMALL / max(frame.width, frame.height)
    width, height = max(8, round(frame.width * scale)), max(8, round(frame.height * scale))
    return np.asarray(frame.reformat(width=width, height=height, format="gray").to_ndarray(), dtype=np.uint8)


def _turned(frame: VideoFrame) -> Pixels:
    """Upright pixels; the file's display matrix gives the turn counter-clockwise."""
    pixels = frame.to_ndarray(format="rgb24")
    return np.ascontiguousarray(np.rot90(pixels, round(frame.rotation / 90) % 4), dtype=np.uint8)


def video_remarks(header: VideoHeader, where: str, taken: int, limits: Limits) -> tuple[Remark, ...]:
    """A remark where not all of the video was looked at."""
    if taken < limits.video_frames:
        return ()
    return (Remark("video-long", where, f"only its first {taken} distinct frames were taken; send the rest as a second video"),)
