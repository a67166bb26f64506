"""How well a picture, or a zone marked in it, could have shown what is there: q in 0..1, and what to do better.

q is the table's best times one factor each for sharpness, light, burnt-out parts, glare, pixels on the zone and how hard
the file was squeezed (picture_quality.csv, straight lines between its rows). More blur, less light or fewer pixels never
raise q. Blind to: the wrong place in the frame, dirt, a sharp background behind a blurred panel (mark the zone), and
water; metal counts as wet only when somebody says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.picture.decode import Decoded, Pixels, decode, resized
from weldworth.picture.kinds import HEAD, PICTURES, kind_of
from weldworth.picture.limits import Limits, limits
from weldworth.tables import Tables, load_tables

Region = tuple[int, int, int, int]
_Grey = npt.NDArray[np.uint8]
_LOOK = 160  # long side in pixels at which light and glare are judged: blur of a few pixels leaves them alone
_LEAST_SPOT = 3  # pixels at that size: smaller spots are sparkle, not glare
_OCTAVES = 4
_ENOUGH = 0.02  # share of finest detail at which an octave counts half: a picture blurred by one pixel has 0.015
_FLOOR = 0.25  # grey levels squared: noise of rounding to whole levels (1/12) and a little more


@dataclass(frozen=True, slots=True)
class Verdict:
    """q : how well this look could have shown its zone, 0..1. faults : short names, worst first. words : fault, then remedy.

    sharp : share of four octaves of detail below 800 pixels that are there. light : mean grey level, 0..255. dark, bright,
    glare : shares of the area. pixels : square root of the pixels on the zone. saved : JPEG quality 1..100 or None. wet : as
    told; None when nobody said, for a picture alone does not tell it.
    """

    q: float
    usable: bool
    faults: tuple[str, ...]
    words: str
    sharp: float
    light: float
    dark: float
    bright: float
    glare: float
    pixels: float
    saved: float | None
    wet: bool | None


@dataclass(frozen=True, slots=True)
class Scales:
    """picture_quality.csv: per measure its values and factors, both rising in value."""

    knots: Mapping[str, tuple[tuple[float, ...], tuple[float, ...]]]

    def factor(self, measure: str, value: float) -> float:
        """The factor of `measure` at `value`, level beyond the ends of its rows."""
        return float(np.interp(value, *self.knots[measure]))


_MEASURES = ("best", "named", "usable", "sharp", "light", "dark", "bright", "glare", "pixels", "saved", "wet")


def scales(tables: Tables) -> Scales:
    """Read picture_quality.csv; raises BadInput naming each measure that is missing, not known or not in rising order."""
    found: dict[str, list[tuple[float, float]]] = {}
    for row in tables.rows("picture_quality.csv", ("measure", "value", "factor", "meaning")):
        point = (row.number("value", low=0), row.number("factor", low=0, high=1))
        found.setdefault(row.text("measure"), []).append(point)
    name = "picture_quality.csv"
    problems = [Problem(name, f"measure {word!r} is missing") for word in _MEASURES if word not in found]
    problems += [Problem(name, f"measure {word!r} is not known") for word in found if word not in _MEASURES]
    for word, points in found.items():
        if any(a[0] >= b[0] for a, b in pairwise(points)):
            problems.append(Problem(name, f"values of {word!r} must rise from row to row"))
    if problems:
        raise BadInput(problems)
    return Scales({word: (tuple(p[0] for p in points), tuple(p[1] for p in points)) for word, points in found.items()})


def check(
    image: Pixels | bytes | Path | str, region: Region | None = None, *, wet: bool | None = None, tables: Tables | None = None
) -> Verdict:
    """Judge a picture, or the zone at `region` = (left, top, right, bottom) in pixels of the upright picture.

    image : uint8 of shape (height, width, 3), sRGB, or a file's bytes or path. Of a file the pixels on the zone are counted in
    the file itself, and how hard it was squeezed is read from it. Raises BadInput for a file that cannot be read and for a
    region that lies outside the picture; NotFound where there is no file.
    """
    tables = tables or load_tables()
    bounds = limits(tables)
    if isinstance(image, np.ndarray):
        if image.ndim != 3 or image.shape[2] != 3 or image.dtype != np.uint8 or 0 in image.shape:
            raise BadInput(f"image has shape {image.shape} and {image.dtype}; give uint8 of shape (height, width, 3)")
        return judge(image, bounds, scales(tables), region, wet=wet)
    found = read(image, bounds, region, int(bounds.judge_px))
    size = (found.header.width, found.header.height)
    return judge(found.pixels, bounds, scales(tables), region, size=size, saved=found.header.saved, wet=wet)


def read(image: bytes | Path | str, bounds: Limits, region: Region | None = None, long_side: int | None = None) -> Decoded:
    """Decode a file's bytes or path so that the region, or the whole, keeps at least `long_side` pixels of what it has."""
    where = "picture" if isinstance(image, bytes) else Path(image).name
    try:
        data = image if isinstance(image, bytes) else Path(image).read_bytes()
    except FileNotFoundError:
        raise NotFound(f"{where}: there is no such file") from None
    except OSError as fault:
        raise BadInput([Problem(where, f"cannot be opened ({fault.strerror}); give a picture file")]) from None
    kind = kind_of(data[:HEAD])
    if kind not in PICTURES:
        raise BadInput([Problem(where, f"is {kind if data else 'empty'}; give a JPEG, PNG, WebP, TIFF, HEIC or AVIF picture")])
    return decode(data, kind, where, bounds, None if region is not None else long_side)


def judge(
    pixels: Pixels,
    bounds: Limits,
    scale: Scales,
    region: Region | None = None,
    *,
    size: tuple[int, int] | None = None,
    saved: float | None = None,
    wet: bool | None = None,
) -> Verdict:
    """The same for pixels already decoded, perhaps smaller than the picture itself, whose (width, height) is then `size`."""
    height, width = pixels.shape[:2]
    full_width, full_height = size or (width, height)
    share = 1.0
    if region is not None:
        left, top, right, bottom = _inside(region, full_width, full_height)
        share = (right - left) * (bottom - top) / (full_width * full_height)
        across, down = width / full_width, height / full_height
        pixels = pixels[
            int(top * down) : max(int(top * down) + 1, round(bottom * down)),
            int(left * across) : max(int(left * across) + 1, round(right * across)),
        ]
    grey = _at(_grey(pixels), int(bounds.judge_px))
    small = _at(grey, _LOOK)
    bright, glare = _burnt(grey, small)
    measures = {
        "sharp": sharpness(grey),
        "light": cv2.mean(grey)[0],
        "dark": float(np.clip(1 - small / 32, 0, 1).mean()),
        "bright": bright,
        "glare": glare,
        "pixels": float(np.sqrt(full_width * full_height * share)),
    }
    return _verdict(scale, measures, saved, wet)


def _inside(region: Region, width: int, height: int) -> Region:
    left, top, right, bottom = region
    kept = (max(left, 0), max(top, 0), min(right, width), min(bottom, height))
    if not (kept[0] < kept[2] and kept[1] < kept[3]):
        raise BadInput(f"region {region} lies outside the picture of {width} x {height}; give left, top, right, bottom in pixels")
    return kept


def _grey(pixels: Pixels) -> _Grey:
    return np.asarray(cv2.cvtColor(np.ascontiguousarray(pixels), cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def _at(grey: _Grey, long_side: int) -> _Grey:
    """Resized to that long side; enlarging blurs, so that few pixels never look sharp."""
    height, width = grey.shape
    scale = long_side / max(height, width)
    if scale <= 1:
        return resized(grey, long_side)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_CUBIC), dtype=np.uint8)


def sharpness(grey: npt.NDArray[np.uint8]) -> float:
    """How many of the four octaves of detail below the size of `grey` are there, as a share: 0 (blurred) to nearly 1 (sharp).

    Each loss of a quarter is the loss of half the resolution. In each octave the energy of its finest detail (1 to 3 pixels) is
    taken as a share of that up to about 10 pixels. The ratio of the two pass bands rises with frequency, so any blur lowers
    it, whatever the picture shows and however strong its contrast. Noise counts as detail; half a grey level is taken off.
    """
    total = 0.0
    for _ in range(_OCTAVES):
        height, width = (max(1, side // 2) for side in grey.shape)
        even = grey[: height * 2, : width * 2]
        half = np.asarray(cv2.resize(even, (width, height), interpolation=cv2.INTER_AREA), dtype=np.uint8)
        fine = cv2.norm(grey, cv2.GaussianBlur(grey, (3, 3), 0), cv2.NORM_L2SQR) / grey.size - _FLOOR
        wide = cv2.norm(half, cv2.GaussianBlur(half, (0, 0), 2.0), cv2.NORM_L2SQR) / half.size
        share = max(0.0, fine) / (wide + _FLOOR)
        total += share / (share + _ENOUGH)
        grey = half
    return total / _OCTAVES


def _burnt(grey: _Grey, small: _Grey) -> tuple[float, float]:
    """Shares of the area lost in its own brightest level: in all, and in spots that do not run off the edge (glare).

    Measured against the picture's own brightest level, not against 255, so that darkening a burnt-out picture afterwards
    does not make it good. Glare must stand out from what is around it.
    """
    counts = cv2.calcHist([grey], [0], None, [256], [0, 256]).ravel()
    top = int(np.flatnonzero(counts)[-1])
    bright = float(counts[int(np.ceil(0.985 * top)) :].sum() / grey.size) if top else 0.0
    top = int(small.max())
    stands_out = float(np.clip((top / max(float(np.median(small)), 1.0) - 1.15) / 0.25, 0, 1))
    if stands_out == 0:
        return bright, 0.0
    weight = np.clip((small / top - 0.955) / 0.03, 0, 1)
    count, labels, stats, _ = cv2.connectedComponentsWithStats((weight > 0).astype(np.uint8))
    height, width = small.shape
    left, upper, across, down, area = (stats[:, column] for column in range(5))
    free = (left > 0) & (upper > 0) & (left + across < width) & (upper + down < height) & (area >= _LEAST_SPOT)
    free[0] = False
    return bright, stands_out * float(weight[free[labels]].sum() / small.size) if count > 1 else 0.0


def _verdict(scale: Scales, measures: Mapping[str, float], saved: float | None, wet: bool | None) -> Verdict:
    factors = {name: scale.factor(name, value) for name, value in measures.items()}
    factors["dark"] = min(factors["dark"], factors.pop("light"))
    if saved is not None:
        factors["saved"] = scale.factor("saved", saved)
    if wet:
        factors["wet"] = scale.factor("wet", 1)
    q = scale.factor("best", 1) * float(np.prod(list(factors.values())))
    named = scale.factor("named", 1)
    faults = tuple(sorted((name for name in factors if factors[name] < named), key=lambda name: factors[name]))
    words = " ".join(_said(name, measures) for name in faults) or "Sharp and bright enough. Nothing to do."
    rounded = {name: round(value, 4) for name, value in measures.items()}
    return Verdict(round(q, 3), q >= scale.factor("usable", 1), faults, words, saved=saved, wet=wet, **rounded)


_WORDS = {
    "sharp": "Blurred, so that pits and blisters cannot be told from paint. Hold the phone with both hands, tap the metal on the "
    "screen and wait until it is sharp.",
    "dark": "Too dark to see the edge of the metal. Switch the lamp on, or step round so that the light comes from behind you.",
    "bright": "Too bright: {bright:.0%} of it is burnt out. Tap the brightest part on the screen, or step out of the sun's way.",
    "glare": "Glare hides {glare:.0%} of it. Step half a pace aside, or switch the flash off and hold a lamp low to one side.",
    "pixels": "The zone is only {pixels:.0f} pixels across. Step closer until it fills the frame, and send the picture itself.",
    "saved": "Squeezed hard on its way, so that fine rust is lost. Send it as a file, not as a chat picture.",
    "wet": "Wet or freshly washed: water hides dull paint, filler and blisters. Wipe it dry, or take it again once it has dried.",
}


def _said(fault: str, measures: Mapping[str, float]) -> str:
    return _WORDS[fault].format(**measures)
