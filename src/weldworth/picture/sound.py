"""Voice memos: what a browser's recorder writes, sized up before it is kept. The sound itself is never judged."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import av

from weldworth.core.errors import BadInput, Problem
from weldworth.picture.limits import Limits

FORMATS = {"matroska": "audio/webm", "ogg": "audio/ogg", "mov": "audio/mp4", "wav": "audio/wav"}
"""How a file is opened -> how it is sent to a browser."""
ENDINGS = {"audio/webm": ".webm", "audio/ogg": ".ogg", "audio/mp4": ".m4a", "audio/wav": ".wav"}


@dataclass(frozen=True, slots=True)
class Sound:
    """A memo. media : its media type. seconds : length, told from its packets, since recorders leave it out of the header."""

    media: str
    seconds: float


def form_of(head: bytes) -> str:
    """How a file that starts with `head` is opened: one of FORMATS, or "" where it is no sound that is known."""
    if head[:4] == b"\x1aE\xdf\xa3":
        return "matroska"
    if head[:4] == b"OggS":
        return "ogg"
    if head[4:8] == b"ftyp":
        return "mov"
    return "wav" if head[:4] == b"RIFF" and head[8:12] == b"WAVE" else ""


def sound_of(path: Path, bounds: Limits) -> Sound:
    """Size up a memo. Raises BadInput where it is no sound, holds pictures too, is too large or too long."""
    with path.open("rb") as file:
        form = form_of(file.read(16))
    if not form:
        raise BadInput([Problem("not-sound", "This is no sound recording; webm, ogg, m4a and wav are taken.")])
    if path.stat().st_size > bounds.memo_bytes:
        most = bounds.memo_bytes / 1e6
        raise BadInput([Problem("too-large", f"This memo is larger than {most:.0f} MB; speak in shorter pieces.")])
    seconds = _seconds(path, form)
    if seconds > bounds.memo_seconds:
        text = f"This memo runs {seconds / 60:.1f} minutes, more than {bounds.memo_seconds / 60:.0f}; speak in shorter pieces."
        raise BadInput([Problem("too-long", text)])
    return Sound(FORMATS[form], seconds)


def _seconds(path: Path, form: str) -> float:
    """Length by the last packet."""
    try:
        with av.open(str(path), format=form, metadata_errors="replace") as container:
            sounds, pictures = container.streams.audio, container.streams.video
            ends = [
                float((packet.pts + (packet.duration or 0)) * packet.time_base)
                for packet in (container.demux(sounds[0]) if sounds else ())
                if packet.pts is not None and packet.time_base is not None
            ]
    except Exception:  # a demuxer meeting a damaged file may raise anything
        raise BadInput([Problem("not-sound", "This recording cannot be read; it may be cut off. Record it again.")]) from None
    if pictures:
        raise BadInput([Problem("not-sound", "This is a video; what is kept here is a voice memo.")])
    if not ends or max(ends) <= 0:
        raise BadInput([Problem("not-sound", "There is no sound in this recording; record it again.")])
    return max(ends)
