"""What a camera wrote beside the pixels: when, with what, where, which way up, and what changed the file since.

Tags by CIPA DC-008 (Exif 2.32); XMP is searched, never parsed as XML, so that hostile markup cannot do anything.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone

from PIL import Image

_MAKE, _MODEL, _SOFTWARE, _CHANGED, _ORIENTATION, _PROCESSOR = 0x010F, 0x0110, 0x0131, 0x0132, 0x0112, 0x000B
_EXIF, _GPS = 0x8769, 0x8825
_TAKEN, _DIGITISED, _OFFSET, _OFFSET_TAKEN = 0x9003, 0x9004, 0x9010, 0x9011
_XMP_SOFTWARE = re.compile(rb'(?:CreatorTool|softwareAgent)(?:="([^"<]{1,200})"|>([^<]{1,200})<)')
_XMP_TAKEN = re.compile(rb'(?:DateTimeOriginal|photoshop:DateCreated)(?:="([^"<]{10,40})"|>([^<]{10,40})<)')
_LONGEST_XMP = 1_000_000


@dataclass(frozen=True, slots=True)
class Capture:
    """What the file says of how it was taken; any of it may be missing, wrong or changed by hand.

    taken_at : the camera's clock, with its offset from UTC where the file gives one. changed_at : the file's own "last
    changed". position : (latitude, longitude) in degrees, north and east positive. orientation : Exif 1..8.
    software : programs named in the file, in the order found.
    """

    taken_at: datetime | None = None
    changed_at: datetime | None = None
    camera: str = ""
    position: tuple[float, float] | None = None
    orientation: int = 1
    software: tuple[str, ...] = ()


def capture_of(exif: Image.Exif, xmp: bytes = b"") -> Capture:
    """The capture facts in `exif` and `xmp`; whatever cannot be made sense of is left out, nothing is raised."""
    more, gps = _sub(exif, _EXIF), _sub(exif, _GPS)
    xmp = xmp[:_LONGEST_XMP]
    taken = _time(more.get(_TAKEN), more.get(_OFFSET_TAKEN)) or _time(more.get(_DIGITISED), more.get(_OFFSET_TAKEN))
    if taken is None and (found := _XMP_TAKEN.search(xmp)):
        taken = _time((found[1] or found[2]).decode("utf-8", "replace"), None)
    make, model = _words(exif.get(_MAKE)), _words(exif.get(_MODEL))
    named = [_words(exif.get(_SOFTWARE)), _words(exif.get(_PROCESSOR))]
    named += [(a or b).decode("utf-8", "replace").strip() for a, b in _XMP_SOFTWARE.findall(xmp)]
    turn = exif.get(_ORIENTATION)
    return Capture(
        taken_at=taken,
        changed_at=_time(exif.get(_CHANGED), more.get(_OFFSET)),
        camera=model if not make or model.lower().startswith(make.lower()) else f"{make} {model}".strip(),
        position=_position(gps),
        orientation=turn if isinstance(turn, int) and 1 <= turn <= 8 else 1,
        software=_distinct(named),
    )


def _sub(exif: Image.Exif, tag: int) -> Mapping[int, object]:
    try:
        return exif.get_ifd(tag)
    except Exception:  # a damaged block raises whatever its parser stumbles on; it then says nothing
        return {}


def _words(value: object) -> str:
    text = value.decode("utf-8", "replace") if isinstance(value, bytes) else value if isinstance(value, str) else ""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:120]


def _distinct(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for word in words if word))[:20]


_STAMP = re.compile(r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d)(?::(\d\d))?(?:\.\d+)?\s*(Z|[+-]\d\d:?\d\d)?")


def _time(value: object, offset: object) -> datetime | None:
    """A date and time as Exif or ISO 8601 writes it; None for blanks, zeros and dates that do not exist."""
    found = _STAMP.match(_words(value))
    if found is None:
        return None
    zone = _zone(found[7] or _words(offset))
    try:
        return datetime(*(int(part or 0) for part in found.groups()[:6]), tzinfo=zone)  # type: ignore[misc, arg-type]
    except ValueError:
        return None


def _zone(text: str) -> timezone | None:
    if text == "Z":
        return UTC
    found = re.fullmatch(r"([+-])(\d\d):?(\d\d)", text)
    if found is None or int(found[2]) > 14 or int(found[3]) > 59:
        return None
    return timezone((1 if found[1] == "+" else -1) * timedelta(hours=int(found[2]), minutes=int(found[3])))


def _position(gps: Mapping[int, object]) -> tuple[float, float] | None:
    """Latitude and longitude; None when a part is missing, out of range, or exactly 0, 0 (a phone without a fix)."""
    latitude, longitude = _angle(gps.get(2)), _angle(gps.get(4))
    if latitude is None or longitude is None or not (latitude <= 90 and longitude <= 180) or latitude == longitude == 0:
        return None
    south, west = _words(gps.get(1)).upper() == "S", _words(gps.get(3)).upper() == "W"
    return (round(-latitude if south else latitude, 6), round(-longitude if west else longitude, 6))


def _angle(value: object) -> float | None:
    try:
        parts = [float(part) for part in value]  # type: ignore[attr-defined]
        angle = sum(part / 60**n for n, part in enumerate(parts[:3]))
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return angle if len(parts) >= 1 and angle >= 0 and angle == angle else None


def video_capture(tags: Mapping[str, str]) -> Capture:
    """The same from the tags of an mp4 or mov file, by the names that phones give them (QuickTime keys, ISO 6709)."""
    lower = {key.lower(): value for key, value in tags.items()}
    apple = "com.apple.quicktime."
    taken = _time(lower.get(apple + "creationdate") or lower.get("creation_time"), None)
    make, model = _words(lower.get(apple + "make")), _words(lower.get(apple + "model"))
    place = lower.get(apple + "location.iso6709") or lower.get("location") or ""
    return Capture(
        taken_at=taken if taken is not None and taken.year > 1970 else None,
        camera=model if not make or model.lower().startswith(make.lower()) else f"{make} {model}".strip(),
        position=_iso6709(place),
        software=_distinct([_words(lower.get(apple + "software")), _words(lower.get("encoder"))]),
    )


def _iso6709(text: str) -> tuple[float, float] | None:
    found = re.match(r"([+-]\d{1,2}(?:\.\d+)?)([+-]\d{1,3}(?:\.\d+)?)", text)
    if found is None:
        return None
    latitude, longitude = float(found[1]), float(found[2])
    return (latitude, longitude) if abs(latitude) <= 90 and abs(longitude) <= 180 and (latitude or longitude) else None
