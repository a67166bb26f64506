"""A walk round each body, rendered: python walk.py TEXTURES OUT [--only BODY,BODY] [--frames N]

Writes OUT/walk-BODY.webp, an animated picture; bodies are painted as no real vehicle is, with a little rust low down.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
from camera import Camera
from cast import BODIES, body_of
from finish import Paint
from ills import Ill
from phone import Phone, developed
from PIL import Image
from scene import Stage
from shoot import shoot
from yard import Light, ground, lit

PAINTS = {
    "coupe": Paint((0.60, 0.58, 0.50), (0.52, 0.51, 0.45), gloss=0.2, seat=(0.20, 0.08, 0.05)),
    "open-tub": Paint((0.50, 0.42, 0.28), (0.46, 0.39, 0.27), seat=(0.17, 0.12, 0.08)),
    "pickup": Paint((0.10, 0.19, 0.27), (0.11, 0.17, 0.22), roof=(0.74, 0.73, 0.68)),
    "roadster": Paint((0.26, 0.05, 0.05), (0.22, 0.06, 0.05), gloss=0.2, seat=(0.32, 0.20, 0.10)),
    "van": Paint((0.34, 0.44, 0.42), (0.30, 0.38, 0.36), roof=(0.76, 0.75, 0.70)),
}
SIZE = (400, 267)
OFF = ("gatedown", "openlid", "cutout")
LIMIT = 400_000


def walk(name: str, textures: Path, out: Path, frames: int, samples: int) -> Path:
    """Render one walk-round; gives the file."""
    body = body_of(name)
    worn = (Ill("dirt", 0.25), Ill("rust", 0.15, parts=("running", "bumper")), Ill("rust", 0.25, low=45.0))
    stage = Stage(body, PAINTS[name], worn, textures, without=OFF)
    ground(stage.textures, "gravel")
    low, high = stage.extent()
    middle, half = (low + high) / 2, (high - low) / 2
    pictures = []
    for k in range(frames):
        turn = 2 * np.pi * (k + 0.35) / frames
        away = 1.05 * np.hypot(half[0], half[1]) + 2300
        at = (middle[0] - away * np.cos(turn), middle[1] + away * np.sin(turn), 1500.0)
        camera = Camera(at, (float(middle[0]), float(middle[1]), float(high[2]) * 0.46), SIZE)
        lit(stage.scene, Light(sky=0.75, sun=2.6, sun_high=38, sun_from=40), camera)
        pictures.append(Image.fromarray(developed(shoot(stage, camera, samples=samples), Phone(seed=k))))
    file = out / f"walk-{name}.webp"
    for quality in (80, 70, 60, 50, 40):
        pictures[0].save(file, save_all=True, append_images=pictures[1:], duration=400, loop=0, quality=quality, method=6)
        if file.stat().st_size <= LIMIT:
            break
    return file


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("textures", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--frames", type=int, default=12)
    parser.add_argument("--samples", type=int, default=4)
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    for name in given.only.split(",") if given.only else BODIES:
        start = time.perf_counter()
        file = walk(name, given.textures, given.out, given.frames, given.samples)
        print(name, file.stat().st_size, "bytes", round(time.perf_counter() - start), "s", flush=True)


if __name__ == "__main__":
    main()
