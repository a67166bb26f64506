"""Things of known size laid on the metal: a card, a coin, a printed marker, a stamped plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import bpy
import cv2
import numpy as np
from camera import Camera
from cast import zone_points
from nodes import picture, plug
from numpy.typing import NDArray
from pieces import FLIP, mesh_of, new_material
from scene import Stage

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Laid:
    """Where a thing lies: middle, and unit vectors across, along and out of the metal, model mm (left-handed axes)."""

    middle: Floats
    across: Floats
    along: Floats
    out: Floats

    def at(self, x: float, y: float, lift: float = 0.0) -> Floats:
        """The place x mm across and y mm along from the middle."""
        return self.middle + self.across * x + self.along * y + self.out * lift


def lay(stage: Stage, zone: str, near: tuple[float, float, float], camera: Camera, turn: float = 0.0) -> Laid:
    """A place on a zone's metal nearest to `near`, facing the camera, its `across` turned by `turn` degrees in the picture."""
    places, normals = zone_points(stage.body, stage.sheets, zone)
    k = int(np.argmin(np.linalg.norm(places - np.asarray(near), axis=1)))
    close = np.linalg.norm(places - places[k], axis=1) < 60
    out = normals[close] * np.sign(normals[close] @ normals[k])[:, None]
    up = out.mean(0)
    up /= np.linalg.norm(up)
    if up @ (np.asarray(camera.at) - places[k]) < 0:
        up = -up
    right = camera.axes()[0]
    across = right - up * (right @ up)
    across /= np.linalg.norm(across)
    down = camera.axes()[1]
    along = down - up * (down @ up) - across * ((down - up * (down @ up)) @ across)
    along /= np.linalg.norm(along)
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return Laid(places[k], c * across + s * along, -s * across + c * along, up)


def _slab(laid: Laid, outline: Floats, thick: float, material: Any) -> None:
    """An outline (n, 2) in mm, n even, raised by `thick` off the metal, with its rim; the picture's UV runs over its box."""
    n = len(outline)
    top = np.array([laid.at(x, y, thick + 0.4) for x, y in outline])
    low = np.array([laid.at(x, y, 0.0) for x, y in outline])
    i = np.arange(n)
    fan = np.array([[2 * n, k, k + 1, (k + 2) % n] for k in range(0, n, 2)])
    rim = np.stack([i, i + n, (i + 1) % n + n, (i + 1) % n], 1)
    places = np.vstack([top, low, [laid.at(*outline.mean(0), thick + 0.4)]])
    mesh = mesh_of("prop", places * FLIP, np.vstack([fan, rim]))
    box = outline.min(0), np.ptp(outline, axis=0)
    flat = (np.vstack([outline, outline, [outline.mean(0)]]) - box[0]) / box[1]
    flat[:, 1] = 1 - flat[:, 1]
    layer = mesh.uv_layers.new(name="tex")
    layer.data.foreach_set("uv", flat[np.vstack([fan, rim]).ravel()].astype(np.float32).ravel())
    mesh.materials.append(material)


def _printed(name: str, pixels: NDArray[np.uint8], rough: float, metallic: float = 0.0) -> Any:
    """A material with a picture (h, w, 3) on it."""
    high, wide = pixels.shape[:2]
    image = bpy.data.images.new(name, wide, high)
    full = np.ones((high, wide, 4), np.float32)
    full[..., :3] = pixels[::-1] / 255
    image.pixels.foreach_set(full.ravel())
    image.pack()
    tree, skin, material = new_material(name)
    plug(tree, picture(tree, image, uv="tex")[0], skin.inputs["Base Color"])
    skin.inputs["Roughness"].default_value, skin.inputs["Metallic"].default_value = rough, metallic
    return material


def card(laid: Laid) -> None:
    """An ID-1 card, 85.60 by 53.98 mm with corners of 3.18 mm radius (ISO/IEC 7810)."""
    w, h, r = 85.60 / 2, 53.98 / 2, 3.18
    turn = np.linspace(0, np.pi / 2, 5)
    corners = [(w - r, h - r, 0), (-w + r, h - r, 1), (-w + r, -h + r, 2), (w - r, -h + r, 3)]
    ring = [(x + r * np.cos(t + k * np.pi / 2), y + r * np.sin(t + k * np.pi / 2)) for x, y, k in corners for t in turn]
    face = np.full((340, 540, 3), (222, 228, 232), np.uint8)
    face[:70] = (40, 74, 112)
    face[120:270, 30:160] = (150, 156, 160)
    for k in range(5):
        face[130 + 30 * k : 138 + 30 * k, 190 : 470 - 40 * (k % 3)] = (96, 104, 112)
    _slab(laid, np.array(ring), 0.76, _printed("card", face, 0.35))


def coin(laid: Laid, across: float = 24.26, thick: float = 1.75) -> None:
    """A coin; a US quarter dollar unless told otherwise (United States Mint, Coin Specifications)."""
    turn = np.linspace(0, 2 * np.pi, 73)[:-1]
    y, x = np.mgrid[-1:1:256j, -1:1:256j]
    ring = np.hypot(x, y)
    face = np.full((256, 256, 3), 178.0)
    face[ring > 0.9] = 205
    face[(ring > 0.86) & (ring <= 0.9)] = 120
    head = ((x + 0.08) / 0.42) ** 2 + ((y - 0.02) / 0.56) ** 2 < 1
    face[head] = 160
    face += np.random.default_rng(5).normal(0, 6, (256, 256, 1))
    outline = np.stack([across / 2 * np.cos(turn), across / 2 * np.sin(turn)], 1)
    _slab(laid, outline, thick, _printed("coin", np.clip(face, 0, 255).astype(np.uint8), 0.38, 0.75))


def marker(laid: Laid, size: float = 50.0, number: int = 7) -> None:
    """A printed marker of the 4 x 4 bit set, `size` mm, with a quarter of it white round it."""
    square = cv2.aruco.generateImageMarker(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), number, 400)
    sheet = np.full((600, 600), 236, np.uint8)
    sheet[100:500, 100:500] = np.maximum(square, 18).clip(0, 236)
    half = size * 0.75
    outline = np.array([(half, half), (-half, half), (-half, -half), (half, -half)])
    _slab(laid, outline, 0.1, _printed("marker", np.repeat(sheet[..., None], 3, 2), 0.9))


def plate(laid: Laid, text: str, wide: float = 120.0, high: float = 34.0) -> None:
    """An aluminium plate with a number stamped into it."""
    face = np.full((340, 1200, 3), 150, np.float32)
    rng = np.random.default_rng(3)
    face += cv2.GaussianBlur(rng.normal(0, 60, (340, 1200)), (0, 0), 9, sigmaY=0.6)[..., None]
    ink = np.zeros((340, 1200), np.uint8)
    scale, weight = 2.9, 9
    (long, tall), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, scale, weight)
    scale *= min(1.0, 1040 / long)
    (long, tall), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, scale, weight)
    cv2.putText(ink, text, ((1200 - long) // 2, 170 + tall // 2), cv2.FONT_HERSHEY_SIMPLEX, scale, 255, weight, cv2.LINE_AA)
    deep = cv2.GaussianBlur(ink.astype(np.float32) / 255, (0, 0), 1.5)
    light = cv2.Sobel(deep, cv2.CV_32F, 0, 1) - cv2.Sobel(deep, cv2.CV_32F, 1, 0) * 0.4
    face = face * (1 - 0.62 * deep[..., None]) + 26 * light[..., None]
    for x in (40, 1160):
        cv2.circle(face, (x, 170), 22, (95, 95, 95), -1, cv2.LINE_AA)
        cv2.circle(face, (x - 5, 164), 9, (190, 190, 190), -1, cv2.LINE_AA)
    outline = np.array([(wide / 2, high / 2), (-wide / 2, high / 2), (-wide / 2, -high / 2), (wide / 2, -high / 2)])
    _slab(laid, outline, 0.8, _printed("plate", np.clip(face, 0, 255).astype(np.uint8), 0.5, 0.2))
