"""The coupe's floor from toe board to tail: pans, tunnel, seat crossmember, wheel houses, trunk, spare well, shelf, tank."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import block, disc, shape
from engine.sides import Side, centre
from engine.solid import Body, Label
from parts.seats import lever, pedals, seat_feet, steering
from shapely.geometry import LineString

from bodies.coupe_shape import AXLE, CODE, FLOOR, LINE, RADIUS, STEP, TAIL, back_x
from bodies.coupe_under import SILL_IN

HOUSE_Y, TRUNK, POCKET = 560, 436, 322
SPARE = (3190.0, 0.0, 256.0)
DEEP = 306
PANS = ("floor", 0.0, ""), ("floorunder", -5.0, "under")


def floor_z(x: Any, y: Any) -> Any:
    """Height of the floor: toe board, pans with the tunnel, seat step, trunk."""
    at = [606, 800, 2050, 2082, 2380, 2460, 2520, 3600]
    level = np.interp(x, at, [528, FLOOR, FLOOR, 372, 350, 430, TRUNK, TRUNK])
    half = np.interp(x, [606, 900, 2050], [190, 150, 120])
    rise = np.interp(x, [606, 900, 1300, 2050, 2090, 2380], [130, 196, 150, 140, 40, 0])
    return level + rise * np.sqrt(np.maximum(0, 1 - (np.abs(y) / half) ** 2.4))


def floor_side(b: Body, side: Side) -> None:
    """Toe board, pans and crossmember of one side, seen from above and below."""
    L, flat = side.label, side.flat
    tunnel = shape(*side.points((606, 190), (900, 150), (2050, 120), (2050, 0), (606, 0)))
    inner = SILL_IN - 2
    toe, pan = flat(606, 0, 808, inner) - tunnel, flat(808, 0, 1470, inner) - tunnel
    rear = flat(1470, 0, 2050, inner) - tunnel
    beads = [flat(890, q, 1220, q + 38, 18) for q in (250, 370, 490)]
    grooves = [flat(1560, q, 1960, q + 38, 18) for q in (220, 350, 480)]
    plugs = disc(1150, side.s * 600, 24), disc(1990, side.s * 590, 24)
    for part, dz, name in PANS:
        paint = [
            (L("toe" + name, "toe"), toe),
            (L("pan" + name, "floor.front"), pan),
            *((L(f"pan{name}/{k}", "floor.front"), q) for k, q in enumerate((*beads, plugs[0]))),
            (L("rearpan" + name, "floor.rear"), rear),
            *((L(f"rearpan{name}/{k}", "floor.rear"), q) for k, q in enumerate((*grooves, plugs[1]))),
        ]
        b.plate(part, "xy", lambda U, V, dz=dz: floor_z(U, V) + dz, paint, step=16)
    member = flat(1290, 150, 1378, inner)
    b.prism("seatcm", "xy", member, FLOOR, 326, L("seatcm", "seatcm"))
    for x, y in ((1334, 600), (1334, 200)):
        b.plate(
            "seatcm",
            "xy",
            329,
            [(L("belt", None, "part"), disc(x, side.s * y, 20)), (L("bolt", None, "well"), disc(x, side.s * y, 9))],
        )


def floor_middle(b: Body) -> None:
    """Tunnel, rear seat pan and seat back."""
    C = centre(CODE)
    _cut(b)
    tunnel = shape((606, 189), (900, 149), (2050, 119), (2050, -119), (900, -149), (606, -189))
    seat, hump = (
        block(2050, -SILL_IN + 2, 2214, SILL_IN - 2) | block(2214, -HOUSE_Y, 2470, HOUSE_Y),
        block(2470, -HOUSE_Y, 2960, HOUSE_Y),
    )
    end = shape(*[(TAIL - 22 - 45 * (q / 800) ** 2, q) for q in np.linspace(-600, 600, 40)], (2000, 600), (2000, -600))
    wells = [(C(f"seatpan/{k}"), block(2120, y - 190, 2350, y + 190, 40)) for k, y in enumerate((-320, 320))]
    ribs = [
        (C(f"trunk/{k}", "trunk.floor"), block(2560, y - 70, 2900, y + 70, 26)) for k, y in enumerate((-400, -200, 0, 200, 400))
    ]
    floor = (hump | (block(2960, -HOUSE_Y, TAIL, HOUSE_Y) & end)) - disc(*SPARE)
    for part, dz, name in PANS:
        paint = [
            (C("seatpan" + name), seat),
            *((C(label.panel.replace("/", name + "/")), q) for label, q in wells),
            (C("trunk" + name, "trunk.floor"), floor),
            *((C(label.panel.replace("/", name + "/"), "trunk.floor"), q) for label, q in ribs),
        ]
        b.plate(part, "xy", lambda U, V, dz=dz: floor_z(U, V) + dz, paint, step=16)
        b.plate("tunnel" + name, "xy", lambda U, V, dz=dz: floor_z(U, V) + dz, [(C("tunnel" + name), tunnel)], step=12)
    back = block(-620, 440, 620, 826, 30)
    slots = [block(q - 130, 520, q + 130, 760, 50) for q in (-400, 0, 400)]
    b.plate("seatback", "yz", 2500, [(C("seatback"), back), *((C(f"seatback/{k}"), q) for k, q in enumerate(slots))])


def _cut(b: Body) -> None:
    """The floor's edge where the section views cut it."""
    x = np.array([606, 800, 2050, 2082, 2380, 2460, 2520])
    z = floor_z(x, 400 + 0 * x)
    x0, _, r = SPARE
    well = [(x0 - r, TRUNK), (x0 - r + 30, DEEP), (x0 + r - 30, DEEP), (x0 + r, TRUNK), (TAIL - 26, TRUNK)]
    edge = LineString([*zip(x, z, strict=True), *well]).buffer(8, cap_style="flat", join_style="mitre")
    for s in (1, -1):
        b.prism("cut", "xz", edge, s * 3, s * 8, Label("cut", None, "part"))


def trunk_side(b: Body, side: Side) -> None:
    """Wheel house and side pocket of one side."""
    L, s = side.label, side.s
    house, z0, r = disc(AXLE, RADIUS + 20, 344) & block(0, STEP, 9999, 9999), RADIUS + 20, 344.0
    b.plate("archhouse", "xz", s * HOUSE_Y, [(L("house", "arch.inner"), house)])
    first = float(np.arcsin((STEP - z0) / r))
    turn = np.linspace(first, np.pi - first, 64)
    b.sheet(
        "archhouse",
        lambda U, V: (AXLE + r * np.cos(turn[U.astype(int)]), s * V, z0 + r * np.sin(turn[U.astype(int)])),
        np.arange(64),
        [HOUSE_Y, 766],
        L("house", "arch.inner"),
    )
    px, py, nx, ny = LINE.along(np.linspace(2903, LINE.tail, 200))
    edge = np.c_[px - 21 * nx, py - 21 * ny]
    pocket = shape(
        *side.points((2903, HOUSE_Y), *edge[edge[:, 1] > HOUSE_Y], (float(edge[edge[:, 1] > HOUSE_Y][-1, 0]), HOUSE_Y))
    )
    for part, dz in (("drop", 0.0), ("dropunder", -5.0)):
        b.plate(
            part,
            "xy",
            POCKET + dz,
            [(L(part, "trunk.drop"), pocket), (L(part + "drain", None, "well"), disc(3300, s * 660, 11))],
        )
    b.plate("drop", "xz", s * (HOUSE_Y + 2), [(L("dropwall", "trunk.drop"), block(2902, POCKET, 3452, TRUNK))])


def trunk_middle(b: Body) -> None:
    """Spare well, shelf, tank with its straps."""
    C = centre(CODE)
    x, y, r = SPARE
    b.turn("spare", (x, y, 0), [(TRUNK - 5, r + 2), (DEEP, r - 30), (DEEP, 70)], C("spare", "spare"), n=120, axis="z")
    b.turn("spare", (x, y, 0), [(DEEP, 70), (DEEP + 12, 56), (DEEP + 12, 12)], C("spare/boss", "spare"), n=60, axis="z")
    b.turn("spare", (x, y, 0), [(DEEP + 12, 12), (DEEP + 12, 0)], C("sparebolt", None, "well"), n=30, axis="z")
    b.plate("spare", "xy", DEEP + 1, [(C("sparedrain", None, "well"), disc(x + 150, 0, 14))])
    q = np.linspace(-560, 560, 60)
    rear = back_x(q, 876 + 0 * q) - 40
    plate = shape((2430, -560), *zip(rear, q, strict=True), (2430, 560))
    b.plate(
        "shelf",
        "xy",
        836,
        [
            (C("shelf", "shelf"), plate),
            *((C(f"speaker{k}", None, "well"), disc(2560, s * 330, 66)) for k, s in enumerate((1, -1))),
            (C("shelf/rib", "shelf"), block(2500, -180, 2640, 180, 30)),
        ],
    )
    tank = block(2728, -400, 2912, 400, 46)
    b.prism("tank", "xy", tank, 262, 404, C("tank", "tank"))
    b.plate("tank", "xy", 261, [(C("tank/seam", "tank"), tank.buffer(-26))])
    for s in (1, -1):
        b.prism("tank", "xy", block(2716, s * 250 - 18, 2924, s * 250 + 18, 4), 256, 408, C(f"strap{s}", "tank"))


def fittings(b: Body) -> None:
    """Seat feet, steering wheel, pedals, lever."""
    seat_feet(b, [(x, y) for x in (1130, 1540) for y in (-560, -250, 250, 560)], FLOOR)
    steering(b, 1080, 360, 830, r=190, foot=(640, 560))
    pedals(b, 790, 440, (450, 310))
    lever(b, 1010, FLOOR + 170)
