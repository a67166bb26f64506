"""The pictures of the demo vehicles, as their stories want them: python demo.py TEXTURES OUT [--only NAME,NAME] [--sketch]

Writes OUT/VEHICLE/NAME.npz: light (h, w, 3) float16, label (h, w), signs (h, w) as bits in the order of metal.SEEN, and the
places of props. finish.py is for paint; pictures and masks are written from these by develop.py.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import bpy
import cv2
import numpy as np
import props
from camera import Camera
from cast import body_of
from finish import Paint
from ills import Ill
from metal import SEEN
from scene import Stage
from shoot import marks, shoot
from yard import Light, ground, lit

DAY, SUN = Light(sky=0.9), Light(sky=0.7, sun=3.0, sun_high=42, sun_from=55)
LOW_SUN = Light(sky=0.6, sun=3.2, sun_high=17, sun_from=70, warm=0.5)
FLASH = Light(sky=0.5, flash=16.0)
TORCH = Light(sky=0.35, flash=3.0, torch=22.0)
SIZE = (640, 480)


@dataclass(frozen=True)
class Prop:
    """kind: card, coin, marker or plate; zone and place it lies at; turn in degrees; text of a plate."""

    kind: str
    zone: str
    near: tuple[float, float, float]
    turn: float = 0.0
    text: str = ""


@dataclass(frozen=True)
class Shot:
    """One picture. off: parts taken off for it."""

    name: str
    at: tuple[float, float, float]
    aim: tuple[float, float, float]
    light: Light = DAY
    off: tuple[str, ...] = ()
    prop: Prop | None = None
    lens: float = 27.0
    roll: float = 0.0

    def camera(self, size: tuple[int, int]) -> Camera:
        return Camera(self.at, self.aim, size, self.lens, roll=self.roll)


@dataclass(frozen=True)
class Vehicle:
    """One vehicle of the demo."""

    name: str
    body: str
    paint: Paint
    ills: tuple[Ill, ...]
    without: tuple[str, ...]
    around: Callable[[Stage], None]
    shots: tuple[Shot, ...] = field(default=())


CORNER_CARD = Prop("card", "pu.corner.outer.r", (1620, -950, 730), 4)
PLATE = Prop("plate", "firewall", (604, -420, 650), 0, "PL268-30417")
HARROW = Vehicle(
    "harrow-150",
    "pickup",
    Paint((0.10, 0.19, 0.27), (0.11, 0.17, 0.22), roof=(0.74, 0.73, 0.68)),
    (
        Ill("coating", 0.99, ("pu.frame.shackle", "pu.frame.tail")),
        Ill("rust", 0.5, ("pu.frame.horn",)),
        Ill("rust", 0.55, ("pu.frame.under_cab", "pu.frame.kick", "pu.frame.behind_cab", "pu.frame.front_eye")),
        Ill("scale", 0.35, ("pu.frame.kick", "pu.frame.under_cab")),
        Ill("rust", 0.35, (), parts=("running", "brace", "bedcross", "bedunder", "floorunder", "iron")),
        Ill("bubbling", 0.55, ("pu.corner.outer.r",), low=170),
        Ill("rust", 0.35, ("pu.corner.outer.r",), low=70),
        Ill("bubbling", 0.5, ("pu.rocker.outer.l",), low=60),
        Ill("rust", 0.4, ("pu.rocker.outer.l",), at=(1250, 940, 430), reach=120),
        Ill("rust", 0.12, ("pu.fender.low",), low=60),
        Ill("stain", 0.3, ("pu.bed.side",), low=120),
        Ill("dirt", 0.35),
    ),
    ("gatedown",),
    lambda s: ground(s.textures, "dirt", wall="boards", wall_at=5200, wall_side=-1),
    (
        Shot("front-left", (-1900, 2700, 1450), (1350, 0, 760), SUN),
        Shot("shackle-left", (4080, 1000, 330), (3580, 540, 540), FLASH),
        Shot("horn-left", (-1180, 760, 300), (-640, 385, 530), FLASH, off=("bumper", "plate")),
        Shot(
            "corner-right",
            (1900, -1560, 800),
            (1640, -940, 620),
            DAY,
            prop=CORNER_CARD,
        ),
        Shot("corner-left", (1950, 1650, 820), (1640, 940, 640), DAY),
        Shot("rocker-left-2024", (1500, 1900, 560), (1080, 940, 500), SUN),
        Shot("under-cab-left", (1500, 1150, 190), (1100, 430, 470), Light(sky=0.25)),
    ),
)
OSTREL = Vehicle(
    "ostrel-forager",
    "open-tub",
    Paint((0.50, 0.42, 0.28), (0.46, 0.39, 0.27), seat=(0.17, 0.12, 0.08)),
    (
        Ill("bubbling", 0.42, ("ot.wsframe.lower",), at=(637, -585, 1165), reach=26),
        Ill("rust", 0.35, ("ot.frame.rear_hanger.r",)),
        Ill("rust", 0.18, (), parts=("running",)),
        Ill("dirt", 0.25),
        Ill("stain", 0.2, ("ot.frame.rear_hanger.r",)),
    ),
    ("gatedown",),
    lambda s: ground(s.textures, "gravel", wall="brick", wall_at=4600, wall_side=-1),
    (
        Shot("front-left", (-1700, 2100, 1450), (1080, 0, 820), SUN),
        Shot("rear-crossmember", (3650, 250, 420), (2790, 0, 590), FLASH, off=("bumper",)),
        Shot("windshield-frame", (290, -830, 1280), (640, -540, 1165), DAY),
        Shot("rocker-left", (1045, 1030, 595), (1015, 736, 550), DAY, prop=Prop("coin", "ot.rocker.outer.l", (1010, 735, 548))),
        Shot("foot-left", (1250, 520, 1180), (960, 420, 625), FLASH, off=("steer", "seat")),
        Shot("hanger-right", (2980, -1000, 330), (2650, -385, 500), FLASH),
        Shot("battery", (230, -330, 1330), (337, -400, 790), DAY, off=("hood",)),
    ),
)
PELHAM = Vehicle(
    "pelham-lisse",
    "coupe",
    Paint((0.60, 0.58, 0.50), (0.52, 0.51, 0.45), gloss=0.2, seat=(0.20, 0.08, 0.05)),
    (
        Ill("stain", 0.5, ("mc.battery",)),
        Ill("rust", 0.12, ("mc.battery",)),
        Ill("rust", 0.12, (), parts=("running",)),
        Ill("dirt", 0.18),
    ),
    (),
    lambda s: ground(s.textures, "concrete", wall="sheet", wall_at=4300, wall_side=1),
    (
        Shot("front-right", (-1650, -2150, 1250), (1250, 0, 560), LOW_SUN),
        Shot("sill-left", (1750, 1480, 420), (1450, 780, 290), DAY, prop=Prop("card", "mc.door.low.l", (1480, 800, 400), -6)),
        Shot("battery", (-400, 760, 1330), (-490, 535, 700), DAY, off=("hood",)),
        Shot("trunk-floor", (3650, 350, 1120), (2900, 0, 440), FLASH, off=("lid", "deckpanel")),
        Shot("rail-rear-left", (3780, 250, 170), (3050, 460, 330), FLASH, off=("bumper",)),
        Shot(
            "number-plate",
            (300, -420, 830),
            (604, -420, 650),
            FLASH,
            off=("hood",),
            prop=PLATE,
        ),
    ),
)
VEHICLES = (HARROW, OSTREL, PELHAM)


def put(stage: Stage, shot: Shot, camera: Camera) -> dict[str, Any]:
    """Lay the shot's prop, after taking the last one away; gives where it lies."""
    for old in [o for o in bpy.data.objects if o.name.startswith("prop")]:
        bpy.data.objects.remove(old)
    if shot.prop is None:
        return {}
    laid = props.lay(stage, shot.prop.zone, shot.prop.near, camera, shot.prop.turn)
    if shot.prop.kind == "plate":
        props.plate(laid, shot.prop.text)
    else:
        getattr(props, shot.prop.kind)(laid)
    spots = np.array([laid.at(x, y) for x in (-60, 0, 60) for y in (-60, 0, 60)])
    return {"prop": shot.prop.kind, "middle": camera.seen(laid.middle[None])[0], "spots": camera.seen(spots)}


def take(vehicle: Vehicle, textures: Path, out: Path, only: Sequence[str], sketch: bool, samples: int) -> None:
    """Render the shots of one vehicle that are not there yet."""
    start = time.perf_counter()
    body = body_of(vehicle.body)
    stage = Stage(body, vehicle.paint, vehicle.ills, textures, without=vehicle.without)
    vehicle.around(stage)
    folder = out / vehicle.name
    folder.mkdir(parents=True, exist_ok=True)
    for shot in vehicle.shots:
        if (only and shot.name not in only) or (folder / f"{shot.name}.npz").exists():
            continue
        camera = shot.camera((320, 240) if sketch else SIZE)
        stage.hide(shot.off)
        lit(stage.scene, shot.light, camera)
        more = put(stage, shot, camera)
        label, signs = marks(stage, camera)
        if sketch:
            colours = np.random.default_rng(0).integers(60, 255, (len(body.labels), 3))
            colours[0] = 0
            cv2.imwrite(str(folder / f"{shot.name}.png"), colours[label].astype(np.uint8))
            continue
        light = shoot(stage, camera, samples=samples)
        bits = sum(signs[name].astype(np.uint8) << k for k, name in enumerate(SEEN))
        names = np.array([(one.zone or "") if one else "" for one in body.labels])
        at = folder / f"{shot.name}.npz"
        np.savez_compressed(at, light=light.astype(np.float16), label=label.astype(np.uint16), signs=bits, zones=names, **more)
        print(vehicle.name, shot.name, round(time.perf_counter() - start), "s", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("textures", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--only", default="", help="names of vehicles or pictures, with commas")
    parser.add_argument("--sketch", action="store_true", help="labels alone, small: to see what is in the frame")
    parser.add_argument("--samples", type=int, default=8)
    given = parser.parse_args()
    wanted = [name for name in given.only.split(",") if name]
    for vehicle in VEHICLES:
        names = [n for n in wanted if n != vehicle.name]
        if not wanted or vehicle.name in wanted or any(shot.name in wanted for shot in vehicle.shots):
            take(vehicle, given.textures, given.out, names, given.sketch, given.samples)


if __name__ == "__main__":
    main()
