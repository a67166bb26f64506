"""A picture and a video as taken in, and the JSON in which their facts wait beside the original for the next run."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any

from weldworth.core.remark import Remark
from weldworth.picture.exif import Capture
from weldworth.picture.quality import Verdict

_SHAPE = 1  # of the JSON; facts of another shape, or made with other tables, are made anew


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture taken in; a frame of a video has `of` (the video's SHA-256) and `at_s` (seconds from its start).

    name : as given. sha256 : of the original. width, height : upright, in pixels. length : bytes of the original. bits,
    mirrored : 64-bit prints, see `alike`. remarks : about this name.
    """

    name: str
    sha256: str
    kind: str
    width: int
    height: int
    length: int
    capture: Capture
    verdict: Verdict
    bits: int
    mirrored: int
    remarks: tuple[Remark, ...] = ()
    of: str | None = None
    at_s: float | None = None

    def named(self, name: str) -> Picture:
        """The same picture under another name."""
        return replace(self, name=name, remarks=_about(self.remarks, name))


@dataclass(frozen=True, slots=True)
class Video:
    """One video taken in, with the frames taken from it."""

    name: str
    sha256: str
    seconds: float
    width: int
    height: int
    length: int
    codec: str
    capture: Capture
    frames: tuple[Picture, ...]
    remarks: tuple[Remark, ...] = ()

    def named(self, name: str) -> Video:
        """The same video under another name."""
        frames = tuple(frame.named(frame_name(name, frame.at_s or 0.0)) for frame in self.frames)
        return replace(self, name=name, frames=frames, remarks=_about(self.remarks, name))


def frame_name(video: str, at_s: float) -> str:
    """What a frame is called, such as ``walk.mp4 at 12.4 s.jpg``."""
    return f"{video} at {at_s:.1f} s.jpg"


def _about(remarks: tuple[Remark, ...], name: str) -> tuple[Remark, ...]:
    return tuple(replace(remark, about=name) for remark in remarks)


def written(item: Picture | Video, tables: str) -> bytes:
    """The facts as JSON, with the version of the tables they were judged by."""
    kind = "video" if isinstance(item, Video) else "picture"
    return json.dumps({"shape": _SHAPE, "tables": tables, "is": kind, **asdict(item)}, default=_plain).encode()


def _plain(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} has no place in the facts of a picture")


def facts_of(data: bytes, tables: str) -> Picture | Video | None:
    """The facts again; None when they are of another shape, judged by other tables or damaged, and must be made anew."""
    try:
        raw: dict[str, Any] = json.loads(data)
        if raw.pop("shape") != _SHAPE or raw.pop("tables") != tables:
            return None
        return _video(raw) if raw.pop("is") == "video" else _picture(raw)
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


def _video(raw: Mapping[str, Any]) -> Video:
    frames = tuple(_picture(frame) for frame in raw["frames"])
    return Video(**{**raw, "frames": frames, "capture": _capture(raw["capture"]), "remarks": _remarks(raw["remarks"])})


def _picture(raw: Mapping[str, Any]) -> Picture:
    verdict = Verdict(**{**raw["verdict"], "faults": tuple(raw["verdict"]["faults"])})
    made = {"capture": _capture(raw["capture"]), "verdict": verdict, "remarks": _remarks(raw["remarks"])}
    return Picture(**{**raw, **made})


def _remarks(raw: list[dict[str, str]]) -> tuple[Remark, ...]:
    return tuple(Remark(**remark) for remark in raw)


def _capture(raw: Mapping[str, Any]) -> Capture:
    times = {key: datetime.fromisoformat(raw[key]) if raw[key] else None for key in ("taken_at", "changed_at")}
    position = tuple(raw["position"]) if raw["position"] else None
    return Capture(**{**raw, **times, "position": position, "software": tuple(raw["software"])})
