"""Rendered pictures to train with, drawn by chance: python many.py TEXTURES OUT --body BODY [--seed N] [--stages N] [--seconds S]

Each stage is one vehicle with its own paint, ills, rust and ground; several pictures are taken of it, from the street, of single
zones and from below, by day, in the sun, by flash and by torch. Writes OUT/BODY-SEED-STAGE-K.jpg and the mask of the same name,
OUT/BODY-SEED-STAGE-K.png: labels (red: 0 not rust, 1 rust, 2 not judged), the bits of the signs (green, in the order of
metal.SEEN) and where the vehicle is (blue). Bodies, seeds and cameras are not those of the demo's pictures.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from camera import Camera
from cast import BODIES, Fine, body_of, fine, zone_points
from engine.solid import Body
from finish import BELOW, CHASSIS, Paint
from ills import SIGNS, Ill, weights
from metal import SEEN, Wear
from numpy.typing import NDArray
from phone import Phone, developed
from scene import Stage
from shoot import marks, shoot
from yard import Light, ground, lit, room

Floats = NDArray[np.float64]
SIZES = ((448, 336), (336, 448), (400, 300))
SKETCH = (64, 48)
NEAREST = 180
DARKEST = 14
AWAY = ("gatedown", "openlid", "cutout")
OPENED = ("hood", "lid", "deckpanel", "bumper", "seat", "door", "wheel")
DEEP = ("rust_metal_05.jpg", "rust_metal_02_modified.jpg", "metal055a.jpg")
FILM = ("rust_metal053c.jpg", "rust_metal_05.jpg", "rust_metal_02_modified.jpg")
RUNNING = ("running", "iron", "brace", "spring", "exhaust", "torque", "drum")
BELOW_ZONES = ("frame", "rail", ".ch.", "floor", "leg", "beam", "outrigger", "mount", "sill.mem", "tophat", "spring", "torque")
FEWEST_SEEN = 0.3
SURE, CLEAR = 0.62, 0.12


def paint_of(rng: np.random.Generator) -> Paint:
    """A paint of any colour, often a pale, brown or red one; frame black, grey, red primer or as the body."""

    def colour() -> tuple[float, float, float]:
        kind = rng.random()
        if kind < 0.3:
            grey = rng.uniform(0.08, 0.85)
            return tuple(float(np.clip(grey * rng.uniform(0.93, 1.07), 0, 1)) for _ in range(3))  # type: ignore[return-value]
        hue = rng.uniform(0, 0.12) if kind < 0.55 else rng.uniform(0, 1)
        tone = np.uint8([[[hue * 179, rng.uniform(60, 235), rng.uniform(35, 235)]]])
        return tuple((cv2.cvtColor(tone, cv2.COLOR_HSV2RGB)[0, 0] / 255).tolist())

    body = colour()
    chassis = [(0.055, 0.055, 0.055), (0.03, 0.03, 0.035), (0.25, 0.25, 0.25), (0.30, 0.10, 0.07), body][
        int(rng.choice(5, p=[0.4, 0.2, 0.15, 0.1, 0.15]))
    ]
    under = [tuple(0.85 * v for v in body), (0.09, 0.09, 0.09), (0.4, 0.38, 0.33), (0.33, 0.12, 0.08)][int(rng.choice(4))]
    seat = [(0.13, 0.11, 0.10), (0.35, 0.18, 0.08), (0.25, 0.08, 0.05), (0.5, 0.4, 0.28)][int(rng.choice(4))]
    roof = colour() if rng.random() < 0.3 else None
    return Paint(body, under, chassis, roof=roof, seat=seat, gloss=float(rng.uniform(0.12, 0.6)))  # type: ignore[arg-type]


def zones_of(body: Body, sheets: Sequence[Fine]) -> list[str]:
    """The zones that points of the sheets lie in."""
    shown = np.unique(np.concatenate([one.labels for one in sheets]))
    return sorted({label.zone for label in (body.labels[n] for n in shown) if label and label.zone})


def ills_of(rng: np.random.Generator, body: Body, sheets: Sequence[Fine]) -> list[Ill]:
    """What happened to a vehicle: nothing but dirt, a little, much, or all of it; rust low, along seams and in places."""
    zones = zones_of(body, sheets)
    parts = sorted({one.sheet.part for one in sheets})
    bad = float(rng.choice([0.0, 0.35, 0.7, 1.0], p=[0.08, 0.22, 0.3, 0.4]))
    tried: list[Ill] = []

    def some(share: float) -> tuple[str, ...]:
        return tuple(z for z in zones if rng.random() < share)

    def much(low: float = 0.1) -> float:
        return float(rng.uniform(low, 0.25 + 0.75 * bad))

    if rng.random() < 0.75:
        tried.append(Ill("dirt", float(rng.uniform(0.1, 0.95)), parts=() if rng.random() < 0.6 else CHASSIS + BELOW + ("floor",)))
    for sign, share in (("primer", 0.25), ("coating", 0.3), ("patch", 0.15), ("stain", 0.35)):
        if rng.random() < share:
            tried.append(Ill(sign, float(rng.uniform(0.2, 0.99)), some(0.1)))
    if bad:
        below = tuple(p for p in parts if p.startswith(CHASSIS + BELOW))
        for sign, share in (("rust", 0.8), ("scale", 0.4), ("hole", 0.12)):
            if rng.random() < share:
                tried.append(Ill(sign, much(), parts=tuple(p for p in below if rng.random() < 0.7)))
        if rng.random() < 0.5:
            tried.append(Ill("rust", much(), parts=RUNNING))
        tried += [Ill("rust", much(0.2), some(0.25), low=float(rng.uniform(25, 220)))]
        tried += [Ill("rust", much(0.2), some(0.3), seam=float(rng.uniform(15, 70)))]
        tried += [Ill("bubbling", much(), some(0.15), low=float(rng.uniform(40, 200)))]
        for zone in some(0.25 * bad):
            tried.append(Ill(str(rng.choice(["rust", "rust", "scale", "hole"], p=[0.4, 0.2, 0.25, 0.15])), much(0.2), (zone,)))
        for zone in some(0.3 * bad):
            places, _ = zone_points(body, sheets, zone)
            at = tuple(float(v) for v in places[rng.integers(len(places))])
            sign = str(rng.choice(["rust", "scale", "hole", "bubbling"], p=[0.55, 0.15, 0.1, 0.2]))
            tried.append(Ill(sign, float(rng.uniform(0.4, 0.99)), (zone,), at=at, reach=float(rng.uniform(25, 220))))  # type: ignore[arg-type]
    return [ill for ill in tried if ill.zones or ill.parts or ill.sign == "dirt"]


def signs_of(body: Body, sheets: Sequence[Fine], ills: Sequence[Ill]) -> list[Floats]:
    """The weights of all the ills that meet metal; those that meet none are left out."""
    total = [np.zeros((len(one.places), len(SIGNS))) for one in sheets]
    for ill in ills:
        try:
            found = weights(body, sheets, [ill])
        except ValueError:
            continue
        for one, more in zip(total, found, strict=True):
            np.maximum(one, more, out=one)
    return total


def light_of(rng: np.random.Generator, near: bool) -> Light:
    """Day, sun, low sun; near the metal also flash, torch and deep shade."""
    sun = Light(
        sky=float(rng.uniform(0.5, 1)),
        sun=float(rng.uniform(1.5, 4)),
        sun_high=float(rng.uniform(12, 65)),
        sun_from=float(rng.uniform(0, 360)),
        warm=float(rng.uniform(0, 0.6)),
    )
    kind = rng.random()
    if not near or kind < 0.3:
        return sun if rng.random() < 0.55 else Light(sky=float(rng.uniform(0.5, 1.1)))
    if kind < 0.65:
        return Light(sky=float(rng.uniform(0.05, 0.6)), flash=float(rng.uniform(6, 30)))
    if kind < 0.88:
        aside = (float(rng.uniform(-400, 400)), float(rng.uniform(-200, 300)), float(rng.uniform(-100, 200)))
        return Light(
            sky=float(rng.uniform(0.03, 0.35)), flash=float(rng.uniform(0, 4)), torch=float(rng.uniform(8, 35)), torch_at=aside
        )
    return Light(sky=float(rng.uniform(0.2, 0.6)))


def camera_of(rng: np.random.Generator, stage: Stage, street: bool, wanted: Sequence[str]) -> Camera:
    """From the street at the whole of it or a part; or near a zone of those wanted."""
    size = SIZES[int(rng.integers(len(SIZES)))]
    roll = float(rng.normal(0, 5))
    if street:
        low, high = stage.extent()
        middle, half = (low + high) / 2, (high - low) / 2
        turn, away = rng.uniform(0, 2 * np.pi), np.hypot(half[0], half[1]) * rng.uniform(0.75, 1.3) + rng.uniform(300, 2600)
        at = (middle[0] - away * np.cos(turn), middle[1] + away * np.sin(turn), float(rng.uniform(500, 1900)))
        aim = middle + rng.uniform(-0.6, 0.6, 3) * half * [1, 0.5, 0.7]
        return Camera(tuple(map(float, at)), tuple(map(float, aim)), size, float(rng.uniform(24, 60)), roll=roll)  # type: ignore[arg-type]
    places, normals = zone_points(stage.body, stage.sheets, str(rng.choice(wanted)))
    k = int(rng.integers(len(places)))
    way = normals[k] * rng.choice([-1, 1]) + rng.normal(0, 0.45, 3)
    if rng.random() < 0.5:
        way[2] += rng.uniform(-0.7, 0.5)
    at = places[k] + way / np.linalg.norm(way) * np.exp(rng.uniform(np.log(280), np.log(1700)))
    at[2] = max(at[2], float(rng.uniform(90, 220)))
    return Camera(tuple(map(float, at)), tuple(map(float, places[k])), size, float(rng.uniform(24, 45)), roll=roll)  # type: ignore[arg-type]


def label_of(rust: NDArray[np.bool_], signs: dict[str, NDArray[np.bool_]], vehicle: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """0 not rust, 1 rust, 2 not judged: between, staining, holes. Specks run together as a hand would draw them."""
    near = cv2.GaussianBlur(rust.astype(np.float32), (0, 0), 2.0)
    label = np.where(near > SURE, 1, np.where(near < CLEAR, 0, 2)).astype(np.uint8)
    label[(signs["stain"] & (label != 1)) | signs["hole"]] = 2
    label[~vehicle & (label == 1)] = 2
    return label


def worth(rng: np.random.Generator, camera: Camera, places: Floats, rusty: NDArray[np.bool_], numbers: NDArray[np.int64]) -> bool:
    """Whether a sketch of the sheets' points shows enough of the vehicle, nothing right before the lens and, mostly, rust."""
    wide, high = SKETCH
    seen = Camera(camera.at, camera.aim, SKETCH, camera.lens, roll=camera.roll).seen(places)
    ahead = seen[:, 2] > 20
    x, y = (np.round(seen[ahead, k]).astype(int) for k in (0, 1))
    depth, which = np.full((high + 4, wide + 4), np.inf), np.full((high + 4, wide + 4), -1)
    inside = (x >= 0) & (x < wide) & (y >= 0) & (y < high)
    x, y, far, index = x[inside], y[inside], seen[ahead, 2][inside], np.flatnonzero(ahead)[inside]
    order = np.argsort(-far)
    for dx in range(-2, 3):
        for dy in range(-2, 3):
            new_depth, new_which = np.full_like(depth, np.inf), np.full_like(which, -1)
            new_depth[y[order] + 2 + dy, x[order] + 2 + dx] = far[order]
            new_which[y[order] + 2 + dy, x[order] + 2 + dx] = index[order]
            nearer = new_depth < depth
            depth[nearer], which[nearer] = new_depth[nearer], new_which[nearer]
    shown = which[which >= 0]
    if len(shown) < FEWEST_SEEN * which.size or np.quantile(depth, 0.3) < NEAREST or len(np.unique(numbers[shown])) < 3:
        return False
    return bool(rusty[shown].mean() > 0.04 or rng.random() < 0.25)


def one_stage(body: Body, name: str, seed: int, textures: Path, out: Path, shots: int, samples: int) -> int:
    """Set a vehicle up and take pictures of it; gives how many."""
    rng = np.random.default_rng(seed)
    sheets = fine(body, AWAY)
    ills = ills_of(rng, body, sheets)
    wear = Wear(
        coarse=float(np.exp(rng.uniform(np.log(0.7), np.log(6)))),
        soft=float(rng.choice([0.012, 0.03, 0.07])),
        tint=tuple((np.exp(rng.normal(-0.4, 0.35)) * np.exp(rng.normal((0.05, -0.05, -0.1), (0.05, 0.1, 0.15)))).tolist()),
        film=FILM[int(rng.integers(len(FILM)))],
        deep=DEEP[int(rng.integers(len(DEEP)))],
    )
    weighed = signs_of(body, sheets, ills)
    stage = Stage(body, paint_of(rng), (), textures, without=AWAY, wear=wear, weighed=weighed)
    stage.scene.render.threads_mode, stage.scene.render.threads = "FIXED", 1
    if rng.random() < 0.12:
        room(textures)
    kinds = ["gravel", "concrete", "stone", "dirt", "grass"]
    walls = ["", "brick", "boards", "sheet"]
    ground(textures, str(rng.choice(kinds)), str(rng.choice(walls)), float(rng.uniform(3200, 7000)), float(rng.choice([-1, 1])))
    marked = [z for ill in ills if ill.sign in ("rust", "scale", "hole", "bubbling") for z in ill.zones]
    every = zones_of(body, sheets)
    zones = marked * 2 + every + [zone for zone in every if any(word in zone for word in BELOW_ZONES)] * 3
    places = np.vstack([one.places for one in sheets])
    rusty = np.vstack(weighed)[:, [SIGNS.index(n) for n in ("rust", "scale", "hole", "bubbling")]].max(1) > 0.15
    numbers = np.concatenate([one.labels for one in sheets])
    plans = []
    for _ in range(shots * 12):
        street = rng.random() < 0.35
        camera = camera_of(rng, stage, street, zones)
        if len(plans) < shots and worth(rng, camera, places[numbers > 0], rusty[numbers > 0], numbers[numbers > 0]):
            plans.append((camera, light_of(rng, not street), [part for part in OPENED if rng.random() < 0.2]))
    masks = []
    for camera, _, off in plans:
        stage.hide(off)
        masks.append(marks(stage, camera))
    for k, ((camera, light, off), (label, signs)) in enumerate(zip(plans, masks, strict=True)):
        if (label > 0).mean() < FEWEST_SEEN / 2:
            continue
        stage.hide(off)
        lit(stage.scene, light, camera)
        phone = Phone(
            bright=float(np.clip(rng.normal(-0.4, 0.8), -2.6, 1.0)),
            colour=float(rng.uniform(0.9, 1.4)),
            blur=float(rng.choice([0, 0, 0.6, 1.1])),
            noise=float(rng.uniform(0.004, 0.025)),
            warm=float(rng.normal(0, 0.5)),
            corner=float(rng.uniform(0, 0.3)),
            crisp=float(rng.uniform(0, 0.7)),
            seed=int(rng.integers(1 << 30)),
        )
        mask = np.zeros((*label.shape, 3), np.uint8)
        mask[..., 0] = label_of(signs["rust"], signs, label > 0)
        mask[..., 1] = sum(signs[sign].astype(np.uint8) << i for i, sign in enumerate(SEEN))
        mask[..., 2] = label > 0
        at = out / f"{name}-{seed}-{k}"
        picture = developed(shoot(stage, camera, samples=samples), phone)
        if picture.mean() < DARKEST:
            continue
        cv2.imwrite(f"{at}.jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 90])
        cv2.imwrite(f"{at}.png", mask[..., ::-1], [cv2.IMWRITE_PNG_COMPRESSION, 9])
    return len(plans)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("textures", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--body", choices=BODIES, action="append", required=True)
    parser.add_argument("--seed", type=int, default=1000)
    parser.add_argument("--stages", type=int, default=10)
    parser.add_argument("--shots", type=int, default=8, help="pictures of each stage, at most")
    parser.add_argument("--samples", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=3600, help="no stage is begun after this long")
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    bodies = {name: body_of(name) for name in given.body}
    start = time.monotonic()
    for k in range(given.stages):
        if time.monotonic() - start > given.seconds:
            break
        name = given.body[k % len(given.body)]
        taken = one_stage(bodies[name], name, given.seed + k, given.textures, given.out, given.shots, given.samples)
        print(name, given.seed + k, taken, "pictures", round(time.monotonic() - start), "s", flush=True)


if __name__ == "__main__":
    main()
