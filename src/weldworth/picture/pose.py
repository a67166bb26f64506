"""Where a plane lies before the camera: from the ellipse of a circle of known size, or the four corners of a rectangle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Lens:
    """Samples of the camera. size : (width, height) in pixels. focal : pixels, shape (n,). bend : first radial term, shape (n,).

    bend is per squared half diagonal: a point at r half diagonals from the middle was moved out by bend r^2 of its distance
    (the first term of Brown 1966, Decentering distortion of lenses, Photogrammetric Engineering 32(3), 444-462).
    """

    size: tuple[int, int]
    focal: Floats
    bend: Floats

    @property
    def half(self) -> float:
        return float(np.hypot(*self.size)) / 2

    def straight(self, points: Floats) -> Floats:
        """Points (k, 2) in pixels as seen by a lens without distortion, from the middle of the picture: (n, k, 2) pixels."""
        middle = np.array(self.size, float) / 2 - 0.5
        seen = (points - middle)[None]
        moved = (seen**2).sum(-1, keepdims=True) / self.half**2
        return np.asarray(seen / (1 + self.bend[:, None, None] * moved), dtype=np.float64)

    def rays(self, points: Floats) -> Floats:
        """Directions (n, k, 3) with third part 1 of points (k, 2) in pixels, or (n, k, 2) where each sample has its own."""
        flat = self.straight(points) if points.ndim == 2 else points
        return np.concatenate([flat / self.focal[:, None, None], np.ones((*flat.shape[:2], 1))], axis=-1)


def plane_of(normal: Floats, distance: Floats, focal: Floats) -> Floats:
    """Maps (n, 3, 3) from straightened pixels to mm in the planes normal . X = distance; normal (n, 3), distance mm (n,)."""
    helper = np.where(np.abs(normal[:, :1]) < 0.9, [[1.0, 0, 0]], [[0, 1.0, 0]])
    first = np.cross(normal, helper)
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    second = np.cross(normal, first)
    maps = np.stack([first, second, normal / distance[:, None]], axis=1)
    maps[:, :, :2] /= focal[:, None, None]
    return np.asarray(maps, dtype=np.float64)


def of_circle(
    lens: Lens, axes: Floats, diameter: Floats, thickness: float, wall: Floats, lean: npt.NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Planes under a coin seen as an ellipse, and their tilts in degrees: maps (n, 3, 3), tilt (n,).

    axes : (n, 5) centre x, y, half axes a >= b in pixels, angle of a in radians. diameter : mm (n,). wall : share of the rim's
    height that is inside the ellipse, 0..1 (n,): it adds thickness x sin(tilt) to the small axis. lean : which of the two
    poses; one circle allows both (Forsyth et al. 1991, IEEE PAMI 13(10), 971-991, section on conics; Kanatani and Liu 1993,
    CVGIP Image Understanding 58(3), 286-301, give the normal used here).
    """
    x, y, a, b, angle = axes.T
    ratio = thickness / diameter * wall
    tilt = np.arccos(np.clip(b / a / np.hypot(1, ratio), -1, 1)) + np.arctan(ratio)
    tilt = np.where(b / a < 1, np.clip(tilt, 0, np.pi / 2), 0.0)
    b = np.minimum(b, a * np.clip(b / a - ratio * np.sin(tilt), 0.02, 1))
    around = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
    u, v = a[:, None] * np.cos(around), b[:, None] * np.sin(around)
    rim = np.stack([x[:, None] + u * cos - v * sin, y[:, None] + u * sin + v * cos], axis=-1)
    normal = _normals(_cones(axes, b, lens.focal), lean)
    rays = lens.rays(rim)
    hit = rays / np.einsum("nki,ni->nk", rays, normal)[..., None]
    radius = np.linalg.norm(hit - hit.mean(axis=1, keepdims=True), axis=-1).mean(axis=1)
    distance = diameter / 2 / radius + thickness
    sight = np.stack([x, y, lens.focal], axis=1)
    cosine = np.einsum("ni,ni->n", sight, normal) / np.linalg.norm(sight, axis=1)
    return plane_of(normal, distance, lens.focal), np.degrees(np.arccos(np.clip(cosine, -1, 1)))


def _cones(axes: Floats, b: Floats, focal: Floats) -> Floats:
    """Cones (n, 3, 3), ray' Q ray = 0, through ellipses in straightened pixels; one negative eigenvalue."""
    x, y, a, _, angle = axes.T
    cos, sin, zero = np.cos(angle), np.sin(angle), np.zeros_like(a)
    # from ray to the unit circle: shift to the centre, turn, divide by the half axes
    to_circle = np.stack(
        [
            np.stack([cos * focal / a, sin * focal / a, -(cos * x + sin * y) / a], axis=1),
            np.stack([-sin * focal / b, cos * focal / b, (sin * x - cos * y) / b], axis=1),
            np.stack([zero, zero, zero + 1], axis=1),
        ],
        axis=1,
    )
    return np.asarray(to_circle.transpose(0, 2, 1) @ np.diag([1.0, 1.0, -1.0]) @ to_circle, dtype=np.float64)


def _normals(cones: Floats, lean: npt.NDArray[np.bool_]) -> Floats:
    """Unit normals (n, 3) of the circular sections of the cones, pointing away from the camera."""
    values, vectors = np.linalg.eigh(cones)
    low, middle, high = values.T
    along = np.sqrt(np.clip((high - middle) / (high - low), 0, 1))
    inward = np.sqrt(np.clip((middle - low) / (high - low), 0, 1))
    axis = vectors[:, :, 0] * np.sign(vectors[:, 2:, 0])
    normal = axis * inward[:, None] + vectors[:, :, 2] * np.where(lean, along, -along)[:, None]
    return np.asarray(normal * np.sign(normal[:, 2:]), dtype=np.float64)


def of_quad(lens: Lens, corners: Floats, size: tuple[Floats, Floats], thickness: float) -> tuple[Floats, Floats, Floats]:
    """Planes under a rectangle: maps (n, 3, 3), tilts in degrees (n,), misfit (n,) of the camera to a true rectangle.

    corners : (n, 4, 2) straightened pixels in order round it, the first two along `size`[0] (mm, (n,)). The homography alone
    gives millimetres on the object; the focal length serves to go down by its thickness (Zhang 2000, IEEE PAMI 22(11),
    1330-1334, section 3.1: h1, h2 are K times two unit vectors at a right angle). misfit : ln of the ratio of the two columns'
    lengths and the cosine between them, squares added; far from 0 when the rectangle has other sides than thought.
    """
    wide, high = size
    zero = np.zeros_like(wide)
    flat = np.stack(
        [np.stack([zero, zero], 1), np.stack([wide, zero], 1), np.stack([wide, high], 1), np.stack([zero, high], 1)], 1
    )
    back = homographies(flat, corners)
    camera = back / np.stack([lens.focal, lens.focal, np.ones_like(lens.focal)], axis=1)[:, :, None]
    lengths = np.linalg.norm(camera, axis=1)
    scale = np.sqrt(lengths[:, 0] * lengths[:, 1])
    misfit = np.hypot(np.log(lengths[:, 0] / lengths[:, 1]), (camera[:, :, 0] * camera[:, :, 1]).sum(axis=1) / scale**2)
    camera = camera / scale[:, None, None] * np.sign(camera[:, 2, 2])[:, None, None]
    normal = np.cross(camera[:, :, 0], camera[:, :, 1])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    normal *= np.sign(np.einsum("ni,ni->n", normal, camera[:, :, 2]))[:, None]
    lowered = camera.copy()
    lowered[:, :, 2] += normal * thickness
    ahead = lowered * np.stack([lens.focal, lens.focal, np.ones_like(lens.focal)], axis=1)[:, :, None]
    middle = camera @ np.stack([wide / 2, high / 2, zero + 1], axis=1)[:, :, None]
    cosine = np.einsum("ni,ni->n", normal, middle[:, :, 0]) / np.linalg.norm(middle[:, :, 0], axis=1)
    return np.linalg.inv(ahead), np.degrees(np.arccos(np.clip(cosine, -1, 1))), misfit


def homographies(source: Floats, target: Floats) -> Floats:
    """Homographies (n, 3, 3) that carry four points (n, 4, 2) onto four others, last element 1."""
    x, y = source[..., 0], source[..., 1]
    u, v = target[..., 0], target[..., 1]
    one, zero = np.ones_like(x), np.zeros_like(x)
    top = np.stack([x, y, one, zero, zero, zero, -u * x, -u * y], axis=-1)
    low = np.stack([zero, zero, zero, x, y, one, -v * x, -v * y], axis=-1)
    solved = np.linalg.solve(np.concatenate([top, low], axis=1), np.concatenate([u, v], axis=1)[..., None])[..., 0]
    return np.concatenate([solved, np.ones((len(solved), 1))], axis=1).reshape(-1, 3, 3)
