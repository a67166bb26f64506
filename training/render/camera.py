"""Where the picture is taken from: a pinhole or a square-on view, and the places that the pictograms show.

Millimetres of the solid models: x rearwards, y to the vehicle's left, z up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
DIAGONAL_35 = 43.27


@dataclass(frozen=True)
class Camera:
    """at, aim: places in mm. size: (width, height) in pixels. lens: focal length as 35 mm equivalent over the diagonal.

    square: None, or the width in mm that a square-on (orthographic) picture shows. roll: degrees, clockwise in the picture.
    """

    at: tuple[float, float, float]
    aim: tuple[float, float, float]
    size: tuple[int, int] = (960, 720)
    lens: float = 27.0
    square: float | None = None
    roll: float = 0.0

    def axes(self) -> Floats:
        """Right, down and forward as unit rows, in the model's own (left-handed) axes."""
        forward = np.subtract(self.aim, self.at).astype(float)
        forward /= np.linalg.norm(forward)
        up = np.array([0.0, 0.0, 1.0]) if abs(forward[2]) < 0.995 else np.array([-1.0, 0.0, 0.0])
        right = np.cross(up, forward)
        right /= np.linalg.norm(right)
        down = -np.cross(forward, right)
        c, s = np.cos(np.radians(self.roll)), np.sin(np.radians(self.roll))
        return np.stack([c * right - s * down, s * right + c * down, forward])

    def focal(self) -> float:
        """Focal length in pixels."""
        return float(self.lens / DIAGONAL_35 * np.hypot(*self.size))

    def seen(self, places: ArrayLike) -> Floats:
        """Places (n, 3) as pixels (n, 2), centre of the first pixel at (0, 0), and their distance along the view (n, 1)."""
        q = (np.asarray(places, float) - np.asarray(self.at, float)) @ self.axes().T
        scale = self.size[0] / self.square if self.square else self.focal() / q[:, 2:]
        return np.hstack([q[:, :2] * scale + np.array(self.size) / 2 - 0.5, q[:, 2:]])


# What the words of a plan's pictures mean for the phone: distance to the metal and height over the zone's middle, mm.
STANDS = {
    "ARM": (600, 250),
    "CLOSE": (300, 60),
    "RAKE": (1200, 120),
    "UNDER": (500, -60),
    "BELOW": (450, -320),
    "INTO": (180, 40),
    "LIFT": (480, 460),
    "GAP": (500, 0),
    "ARCH": (450, -80),
    "END": (700, 80),
    "UP": (420, -200),
}


def stand(
    places: Floats, word: str, towards: ArrayLike, *, size: tuple[int, int] = (960, 720), lens: float = 27.0, reach: float = 0.8
) -> Camera:
    """The camera for a zone whose points are `places`, in the direction (x, y) of the pictogram's camera from the zone.

    It stands off by the word's distance, or farther until `reach` of the zone's points would fit the picture.
    """
    away, rise = STANDS[word]
    aim = np.median(places, 0)
    spread = np.quantile(np.linalg.norm(places - aim, axis=1), reach)
    focal = lens / DIAGONAL_35 * np.hypot(*size)
    away = max(away, spread * focal / (min(size) / 2))
    flat = np.asarray(towards, float)
    flat = flat / (np.linalg.norm(flat) + 1e-9)
    height = min(0.94, abs(rise) / STANDS[word][0]) * np.sign(rise)
    level = np.sqrt(1 - height**2)
    at = aim + away * np.array([flat[0] * level, flat[1] * level, height])
    at[2] = max(at[2], 110.0)
    return Camera(tuple(map(float, at)), tuple(map(float, aim)), size, lens)
