"""Truth and interval of lengths and areas measured in rendered scenes, for the tests and the figures."""

from __future__ import annotations

import cv2
import numpy as np
from scenes import COINS, Scene, coin_scene, quad_scene

from weldworth.core.errors import BadInput
from weldworth.picture.scale import Reference, find_reference, from_points

Found = tuple[float, float, float, float]


def reference_of(scene: Scene, kind: str, focal: float | None) -> Reference:
    """The scale as a person would take it: a tap some pixels off the middle; the focal length told in every second picture."""
    tap = scene.middle + scene.rng.normal(0, 4, 2)
    return find_reference(scene.image, kind, (float(tap[0]), float(tap[1])), focal_35mm=focal)


def scene_of(seed: int, kind: str) -> tuple[Scene, str, float]:
    """A scene, the object in it and its size in mm; kind "coin" takes the coins in turn, "points" a card with two taps on it."""
    if kind == "coin":
        name = list(COINS)[seed % len(COINS)]
        return coin_scene(seed, name), name, COINS[name][0]
    if kind == "points":
        lean = float(min(45.0, abs(np.random.default_rng([seed, 9]).normal(0, 18))))
        return quad_scene(seed, "card", tilt=lean), "points", 85.6
    return quad_scene(seed, kind.split("-")[0]), kind, 85.6 if kind == "card" else 50.0


def lengths_and_areas(seed: int, kind: str) -> list[Found] | None:
    """(truth, low, value, high) of two lengths and an area within two sizes of the object; None where it was refused."""
    scene, name, size = scene_of(seed, kind)
    focal = None if seed % 2 else float(scene.camera.focal * 43.27 / np.hypot(*scene.camera.size))
    try:
        if kind == "points":
            ends = np.array([[-42.8, 0.0], [42.8, 0.0]])
            tapped = scene.camera.seen(ends) + scene.rng.normal(0, 1.0, (2, 2))
            reference = from_points(tuple(tapped[0]), tuple(tapped[1]), 85.6, scene.camera.size, error_mm=0.5, focal_35mm=focal)
        else:
            reference = reference_of(scene, name, focal)
    except BadInput:
        return None
    world, seen = scene.spots(8, 2 * size)
    found = []
    for pair in ((0, 1), (2, 3)):
        truth = float(np.hypot(*(world[pair[0]] - world[pair[1]])))
        if truth > 0.4 * size:
            found.append((truth, lambda pair=pair: reference.plane.length(seen[list(pair)])))
    hull = cv2.convexHull(world[4:].astype(np.float32), returnPoints=False).ravel() + 4
    truth = float(cv2.contourArea(world[hull].astype(np.float32)))
    if truth > 0.15 * size**2:
        found.append((truth, lambda: reference.plane.area(seen[hull])))
    measured = []
    for truth, asked in found:
        try:
            measure = asked()
        except BadInput:
            continue
        measured.append((truth, measure.low, measure.value, measure.high))
    return measured
