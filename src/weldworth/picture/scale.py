"""What gives a picture its millimetres: a coin, a card, a printed marker, or two points a known distance apart.

All of it holds only on flat metal in the plane that the object lies on. Formulas and limits: docs/measuring.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.core.words import unknown
from weldworth.picture.ellipse import find_ellipses
from weldworth.picture.marker import find_marker
from weldworth.picture.plane import Measure, Plane
from weldworth.picture.pose import Floats, Lens, of_circle, of_quad, plane_of
from weldworth.picture.quad import Quad, find_quad
from weldworth.picture.rim import Ellipse
from weldworth.picture.sizes import ScaleObject, objects, rank_coins, terms_of
from weldworth.tables import Tables, load_tables

__all__ = ["Measure", "Plane", "Reference", "find_reference", "from_points", "rank_coins"]

Point = tuple[float, float]
SAMPLES = 256
_MEASURED = 0.005  # one spread of a side measured with a ruler, as a share
_FULL_FRAME = 43.27  # mm, diagonal of 36 x 24


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """The object found and the plane it gives.

    kind : row of scale_objects.csv, or "points". outline : (k, 2) pixels, to draw over the picture. pixels : across its larger
    side. tilt_deg : of its plane to the line of sight. sharp : width of its edge in pixels. remarks : what may be wrong.
    """

    kind: str
    outline: tuple[Point, ...]
    pixels: float
    tilt_deg: float
    sharp: float
    plane: Plane
    remarks: tuple[Remark, ...]


def find_reference(
    image: npt.NDArray[np.uint8],
    kind: str,
    near: Point | None = None,
    *,
    focal_35mm: float | None = None,
    size_mm: float | None = None,
    nearer: Point | None = None,
    tables: Tables | None = None,
    seed: int = 0,
) -> Reference:
    """Find the object `kind` in an upright picture, uint8 (height, width, 3), red first, and take the scale from it.

    kind : a row of scale_objects.csv ("quarter", "card", "marker-50", ...) or "coin": two US coins lie in the picture and are
    told apart by the ratio of their sizes. near : a tap on it, in pixels. focal_35mm : from the picture's EXIF, if known.
    size_mm : measured side of a marker, instead of the table's. nearer : a point of the same metal, in pixels, that is nearer to
    the camera than the coin; a coin alone does not tell which way it leans. Raises BadInput saying why not and what to do.
    """
    tables = load_tables() if tables is None else tables
    known, terms = objects(tables), terms_of(tables)
    if image.ndim != 3 or image.shape[2] != 3 or image.dtype != np.uint8 or min(image.shape[:2]) < 64:
        raise BadInput(
            [
                Problem(
                    "picture", f"shape {image.shape} of {image.dtype} cannot be measured; give 8-bit colour of 64 pixels or more"
                )
            ]
        )
    for point in (near, nearer):
        _inside(image, point)
    if kind == "coin":
        return _of_two_coins(image, known, terms, (focal_35mm, nearer), seed)
    if kind not in known:
        raise BadInput([Problem("object", unknown("object", kind, ["coin", *known]))])
    chosen = known[kind]
    lens = _lens(image.shape, terms, focal_35mm, seed)
    if chosen.shape == "coin":
        found = find_ellipses(image, near, 1)
        if not found:
            raise _not_seen(chosen.words, near)
        return _of_ellipse(found[0], chosen, lens, terms, (focal_35mm, nearer), seed)
    if chosen.shape == "marker":
        return _of_marker(image, near, chosen, size_mm, lens, terms, seed)
    quad = find_quad(image, near, chosen.width / chosen.height, float(np.median(lens.focal)))
    if quad is None:
        raise _not_seen(chosen.words, near)
    return _of_quad(quad, chosen, (chosen.width, chosen.height), lens, terms, seed)


def from_points(
    first: Point,
    second: Point,
    mm: float,
    size: tuple[int, int],
    *,
    error_mm: float | None = None,
    focal_35mm: float | None = None,
    tables: Tables | None = None,
    seed: int = 0,
) -> Reference:
    """Scale from two tapped points `mm` apart, in a picture of size (width, height) pixels.

    Nothing tells how the metal leans, so it is taken as looked at nearly straight on, with the lean that happens
    (scale_terms.csv) as doubt. error_mm : one spread of the stated distance, 1 per cent unless told. Raises BadInput.
    """
    terms = terms_of(load_tables() if tables is None else tables)
    if not (np.isfinite(mm) and mm > 0):
        raise BadInput([Problem("distance", f"{mm} mm is no distance; give a number above 0")])
    ends = np.array([first, second], dtype=np.float64)
    if not np.isfinite(ends).all() or (ends < -0.5).any() or (ends > np.array(size) - 0.5).any():
        raise BadInput([Problem("points", f"{first} and {second} must lie in the picture of {size[0]} x {size[1]} pixels")])
    apart = float(np.hypot(*(ends[1] - ends[0])))
    if apart < terms["least_coin_px"]:
        raise BadInput([Problem("points", f"are {apart:.0f} pixels apart, {terms['least_coin_px']:.0f} are needed; come closer")])
    rng = np.random.default_rng(seed)
    lens = _lens((size[1], size[0]), terms, focal_35mm, seed)
    tilt = np.radians(np.minimum(np.abs(rng.normal(0, terms["tilt_spread_deg"], SAMPLES)), terms["tilt_highest_deg"]))
    toward = rng.uniform(0, 2 * np.pi, SAMPLES)
    middle = lens.rays(ends.mean(axis=0)[None])[:, 0]
    normal = _leaning(middle, tilt, toward)
    rays = lens.rays(lens.straight(ends) + rng.normal(0, terms["tap_px"], (SAMPLES, 2, 2)))
    hit = rays / np.einsum("nki,ni->nk", rays, normal)[..., None]
    spread = 0.01 * mm if error_mm is None else error_mm
    distance = (mm + rng.normal(0, spread, SAMPLES)) / np.linalg.norm(hit[:, 1] - hit[:, 0], axis=1)
    remark = Remark(
        "no-perspective", "points", "Two points do not tell how the metal leans: look straight on, or lay a card on it."
    )
    plane = _plane(
        lens, plane_of(normal, distance, lens.focal), ends.mean(axis=0), mm, float(np.degrees(np.median(tilt))), terms, seed
    )
    return Reference("points", _pairs(ends), apart, plane.tilt_deg, 0.0, plane, (remark, _flat("points")))


def _inside(image: npt.NDArray[np.uint8], near: Point | None) -> None:
    if near is not None and not (0 <= near[0] < image.shape[1] and 0 <= near[1] < image.shape[0]):
        size = f"{image.shape[1]} x {image.shape[0]} pixels"
        raise BadInput([Problem("tap", f"{near} lies outside the picture of {size}; tap the object")])


def _lens(shape: Sequence[int], terms: dict[str, float], focal_35mm: float | None, seed: int) -> Lens:
    """Camera samples: focal length by the 35 mm equivalent, which EXIF defines by the diagonal (CIPA DCG-001)."""
    if focal_35mm is not None and not 8 <= focal_35mm <= 800:
        raise BadInput([Problem("focal length", f"{focal_35mm} mm as 35 mm equivalent is not believable; leave it out")])
    rng = np.random.default_rng([seed, 1])
    middle, spread = (
        (terms["focal_35mm"], terms["focal_spread_unknown"]) if focal_35mm is None else (focal_35mm, terms["focal_spread_told"])
    )
    focal = middle / _FULL_FRAME * float(np.hypot(shape[0], shape[1])) * np.exp(rng.normal(0, spread, SAMPLES))
    return Lens((int(shape[1]), int(shape[0])), focal, rng.normal(0, terms["distortion"], SAMPLES))


def _of_ellipse(
    found: Ellipse, coin: ScaleObject, lens: Lens, terms: dict[str, float], told: tuple[float | None, Point | None], seed: int
) -> Reference:
    _refuse(coin.words, 2 * found.a, terms["least_coin_px"], found.edge / (2 * found.b), found.cut, terms)
    rng = np.random.default_rng([seed, 2])
    rings = np.array([ring for ring, _ in found.rivals])
    chances = np.array([weight for _, weight in found.rivals])
    axes = rings[rng.choice(len(rings), SAMPLES, p=chances / chances.sum())]
    axes[:, :2] = lens.straight(axes[:, :2])[np.arange(SAMPLES), np.arange(SAMPLES)]
    bend = 1 - lens.bend * (axes[:, :2] ** 2).sum(axis=1) / lens.half**2
    noise = np.hypot(np.hypot(terms["edge_px"], found.rough / 6), terms["rim_share"] * found.a)
    axes[:, 2:4] = bend[:, None] * (axes[:, 2:4] + rng.normal(0, noise, (SAMPLES, 2)))
    swapped = axes[:, 3] > axes[:, 2]
    axes[swapped, 2:4] = axes[swapped, 3:1:-1]
    diameter = coin.width * (1 + rng.normal(0, coin.tolerance, SAMPLES))
    wall, lean = rng.uniform(0, 1, SAMPLES), rng.random(SAMPLES) < 0.5
    maps, tilts = of_circle(lens, axes, diameter, coin.thickness, wall, lean)
    if told[1] is not None:
        maps = _nearer(lens, maps, of_circle(lens, axes, diameter, coin.thickness, wall, ~lean)[0], (found.x, found.y), told[1])
    tilt = float(np.median(tilts))
    _refuse_tilt(coin.words, tilt, terms)
    plane = _plane(lens, maps, np.array([found.x, found.y]), coin.width, tilt, terms, seed)
    remarks = [_flat(coin.name)]
    if tilt > 15 and told[1] is None:
        remarks.append(
            Remark(
                "two-leans", coin.name, "A coin does not tell which way it leans: tap metal nearer to the camera, or use a card."
            )
        )
    if told[0] is None:
        remarks.append(
            Remark("focal-unknown", coin.name, "The picture does not tell its focal length; a phone's main camera is taken.")
        )
    return Reference(coin.name, _pairs(found.outline()[0]), 2 * found.a, tilt, found.edge, plane, tuple(remarks))


def _of_quad(
    quad: Quad, thing: ScaleObject, size: tuple[float, float], lens: Lens, terms: dict[str, float], seed: int
) -> Reference:
    _refuse(thing.words, quad.shortest, terms["least_side_px"], quad.edge / quad.shortest, quad.cut, terms)
    rng = np.random.default_rng([seed, 2])
    noise = np.hypot(
        np.hypot(terms["edge_px"], quad.noise / 3), (terms["side_share"] if thing.shape == "quad" else 0.0) * quad.shortest
    )
    corners = lens.straight(quad.corners) + rng.normal(0, noise, (SAMPLES, 4, 2))
    grown = 1 + rng.normal(0, thing.tolerance, SAMPLES)
    maps, tilts, _ = of_quad(lens, corners, (size[0] * grown, size[1] * grown), thing.thickness)
    tilt = float(np.median(tilts))
    _refuse_tilt(thing.words, tilt, terms)
    plane = _plane(lens, maps, quad.corners.mean(axis=0), max(size), tilt, terms, seed)
    longest = float(np.hypot(*(np.roll(quad.corners, -1, axis=0) - quad.corners).T).max())
    return Reference(thing.name, _pairs(quad.corners), longest, tilt, quad.edge, plane, (_flat(thing.name),))


def _of_marker(
    image: npt.NDArray[np.uint8],
    near: Point | None,
    thing: ScaleObject,
    size_mm: float | None,
    lens: Lens,
    terms: dict[str, float],
    seed: int,
) -> Reference:
    if size_mm is not None and not (np.isfinite(size_mm) and size_mm > 0):
        raise BadInput([Problem("size", f"{size_mm} mm is no size; measure the black square's side")])
    found = find_marker(image, near)
    if found is None:
        raise _not_seen(thing.words, near)
    corners, number = found
    cut = bool((corners < 1).any() or (corners > np.array(image.shape[1::-1]) - 2).any())
    quad = Quad(corners, 0.0, 1.0, 0.0, cut, 0.0)
    side = thing.width if size_mm is None else size_mm
    thing = thing if size_mm is None else replace(thing, tolerance=_MEASURED)
    reference = _of_quad(quad, thing, (side, side), lens, terms, seed)
    if size_mm is not None:
        return reference
    told = f"Marker {number} is taken as {side:g} mm; printers scale, so measure its black square and give that."
    return replace(reference, remarks=(*reference.remarks, Remark("print-size", thing.name, told)))


def _of_two_coins(
    image: npt.NDArray[np.uint8],
    known: dict[str, ScaleObject],
    terms: dict[str, float],
    told: tuple[float | None, Point | None],
    seed: int,
) -> Reference:
    found = find_ellipses(image, None, 2)
    if len(found) < 2:
        raise BadInput([Problem("coin", "two coins are needed to tell which they are; say which coin it is, such as quarter")])
    first, second, chance = rank_coins(found[0].a / found[1].a, terms["rim_share"] * 1.5)[0]
    if chance < 0.9 or first == second:
        raise BadInput(
            [Problem("coin", f"they may be {first} and {second} (probability {chance:.2f}), or others; say which coin it is")]
        )
    reference = _of_ellipse(found[0], known[first], _lens(image.shape, terms, told[0], seed), terms, told, seed)
    words = (
        f"Taken for {first} and {second} by the ratio of their sizes, probability {chance:.2f}; say which they are to be sure."
    )
    return replace(reference, remarks=(*reference.remarks, Remark("coins-by-ratio", first, words)))


def _nearer(lens: Lens, one: Floats, other: Floats, coin: Point, near: Point) -> Floats:
    """Of two leans per sample the one in which `near` lies nearer to the camera: third row times pixel is 1 / depth."""
    rows = np.concatenate([lens.straight(np.array([coin, near])), np.ones((len(one), 2, 1))], axis=-1)
    rises = [(nearness := rows @ maps[:, 2, :, None])[:, 1, 0] / nearness[:, 0, 0] for maps in (one, other)]
    return np.where((rises[0] >= rises[1])[:, None, None], one, other)


def _plane(lens: Lens, maps: Floats, middle: Floats, size: float, tilt: float, terms: dict[str, float], seed: int) -> Plane:
    place = (float(middle[0]), float(middle[1]))
    return Plane(
        lens, maps, place, terms["farthest_sizes"] * size, terms["tap_px"], tilt, terms["level"], terms["widest_share"], seed
    )


def _leaning(sight: Floats, tilt: Floats, toward: Floats) -> Floats:
    """Unit normals (n, 3) at angles `tilt` from the lines of sight (n, 3), leaning `toward` round them."""
    along = sight / np.linalg.norm(sight, axis=1, keepdims=True)
    across = np.cross(along, [0.0, 1.0, 0.0])
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    down = np.cross(along, across)
    side = across * np.cos(toward)[:, None] + down * np.sin(toward)[:, None]
    return np.asarray(along * np.cos(tilt)[:, None] + side * np.sin(tilt)[:, None], dtype=np.float64)


def _refuse(words: str, pixels: float, least: float, blur: float, cut: bool, terms: dict[str, float]) -> None:
    problems = []
    if cut:
        problems.append(Problem(words, "is cut off by the edge of the picture; take it whole"))
    if pixels < least:
        problems.append(Problem(words, f"is only {pixels:.0f} pixels across, {least:.0f} are needed; come closer"))
    elif blur > terms["blur_share"]:
        problems.append(Problem(words, f"is blurred (its edge takes {blur:.0%} of it); hold still and tap it to focus"))
    if problems:
        raise BadInput(problems)


def _refuse_tilt(words: str, tilt: float, terms: dict[str, float]) -> None:
    if tilt > terms["tilt_highest_deg"]:
        most = terms["tilt_highest_deg"]
        raise BadInput(
            [Problem(words, f"is seen at {tilt:.0f} degrees from straight on, {most:.0f} are allowed; look straighter on")]
        )


def _not_seen(words: str, near: Point | None) -> BadInput:
    where = "in the picture; tap it" if near is None else "near the tap; tap its middle"
    return BadInput([Problem(words, f"is not found {where}, or take it again whole, sharp, from straight on, on a plain place")])


def _flat(about: str) -> Remark:
    return Remark(
        "same-plane",
        about,
        "Holds only on flat metal in the plane that the object lies on; a picture cannot tell whether it does.",
    )


def _pairs(points: Floats) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in points)
