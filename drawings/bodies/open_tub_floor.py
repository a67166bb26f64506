"""The open tub inside and from below: floor, channels, mounts, rocker boxes, wheel houses, seats, dash."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import block, disc, shape, steps
from engine.sides import Side, centre
from engine.solid import Body, Label
from parts.seats import lever, pedals, steering

from bodies.open_tub_shape import (
    ALL,
    AXLE,
    CARGO,
    CODE,
    COWL,
    COWL_ROLL,
    DASH,
    DOOR_BACK,
    DOOR_TOP,
    FLOOR,
    GATE,
    RAIL,
    SILL,
    TAIL,
    WALL,
    half_width,
)

INNER, TOE, SEAT, SEAT_BACK, HOUSE, HOUSE_TOP = 694, 740, 1180, 1590, 470, 890


def floor_z(x: Any, y: Any) -> Any:
    """Height of the front floor: level, rising to the toe board, with a low tunnel in the middle."""
    flat = FLOOR + np.maximum(0, TOE - x) * 0.85
    tunnel = 96 * np.sqrt(np.maximum(0, 1 - (np.abs(y) / 162) ** 2.4))
    return flat + np.where(x < SEAT + 2, tunnel, 0)


def floor_side(b: Body, side: Side) -> None:
    """Half the floor from above and below, with what is welded under it."""
    L, flat, s = side.label, side.flat, side.s
    toe, foot = flat(WALL + 4, 160, TOE, INNER), flat(TOE, 160, SEAT, INNER)
    bolt = disc(700, s * 590, 24)
    pad = disc(700, s * 590, 66)
    beads = [(L(f"foot/bead{k}", "floor.foot"), flat(810, q, 1110, q + 46, 20)) for k, q in enumerate((250, 370, 490))]
    for part, dz, name in (("floor", 0, ""), ("floorunder", -6, "under")):
        b.plate(
            part,
            "xy",
            lambda U, V, dz=dz: floor_z(U, V) + dz,
            [
                (L("toe" + name, "floor.toe"), toe),
                (L("foot" + name, "floor.foot"), foot),
                *((L(f"foot{name}/bead{k}", "floor.foot"), q) for k, (_, q) in enumerate(beads)),
                (L("frontmount" + name, "mount.tub_front"), pad),
                (L(f"frontmount{name}/bolt", "mount.tub_front"), bolt),
            ],
            step=40,
        )
    riser = flat(SEAT, 165, SEAT_BACK, INNER)
    b.prism("floor", "xy", riser, FLOOR, 726, L("riser", "floor.seat"))
    lid = flat(SEAT + 70, 250, SEAT_BACK - 70, 560, 24)
    b.plate("floor", "xy", 729, [(L("riserlid", "floor.seat"), lid)])
    b.plate("floorunder", "xy", FLOOR - 6, [(L("seatunder", "floor.seat"), flat(SEAT, 0, SEAT_BACK, INNER))])
    for x in (905, 1250, 1515):
        b.prism("hat", "xy", flat(x - 38, 172 if x < SEAT else 20, x + 38, INNER - 4), 592, FLOOR - 8, L(f"hat{x}", "floor.hat"))
    for x in (1740, 2240):
        b.prism("hat", "xy", flat(x - 34, 20, x + 34, HOUSE - 30), 662, CARGO - 8, L(f"hat{x}", "floor.hat"))
    b.turn("mount", (2757, s * 540, 0), [(585, 0), (585, 46), (650, 46)], L("rearmount", "mount.tub_rear"), n=60, axis="z")
    b.plate("mount", "xy", 583, [(L("rearmount/bolt", "mount.tub_rear"), disc(2757, s * 540, 20))])
    b.prism("floorunder", "xy", flat(2706, 474, 2806, 606), 640, CARGO - 8, L("mountbox", "mount.tub_rear"))
    b.plate("rocker", "xz", s * INNER, [(L("rockerin", "rocker.inner"), block(DASH, SILL + 4, 1430, FLOOR + 30))])
    b.sheet(
        "rocker",
        lambda U, V: (U, s * (INNER + (half_width(SILL) - INNER) * V / 100), FLOOR + 30 - 68 * V / 100),
        steps(DASH, 1430, 60),
        [0, 100],
        L("sillstep", "rocker.inner"),
    )
    b.sheet(
        "rockerunder",
        lambda U, V: (U, s * (INNER - 30 + (half_width(SILL) - INNER + 30) * V / 100), SILL + 6 - 4 * V / 100),
        steps(DASH, 1430, 60),
        [0, 100],
        [
            (L("rockerfoot", "rocker.inner"), block(DASH, 0, 1430, 54)),
            (L("rockerfoot", "rocker.outer"), block(DASH, 54, 1430, 101)),
        ],
    )


def inner_side(b: Body, side: Side) -> None:
    """Inner faces of one side: kick panel and its pocket, door, quarter, wheel house with the foot of the roll bar."""
    L, flat, s = side.label, side.flat, side.s
    b.prism(
        "pocket",
        "xy",
        shape(*side.points((WALL + 8, 690), (600, 690), (600, 728), (WALL + 8, 728)), r=8),
        560,
        1000,
        L("pocket", "cowl.side"),
    )
    kick = block(WALL + 6, FLOOR, DASH - 2, COWL - COWL_ROLL)
    b.plate(
        "inner",
        "xz",
        s * (INNER - 2),
        [
            (L("kick"), kick),
            (L("kick", "cowl.side"), block(WALL + 6, FLOOR, 600, 1000)),
            (L("kick", "apost"), block(600, SILL, DASH - 2, 792)),
            (L("kickvent", None, "well"), block(512, 800, 570, 900, 12)),
        ],
    )
    door = shape((DASH + 8, 604), (1176, 604), (DOOR_BACK - 8, 742), (DOOR_BACK - 8, 1200), (DASH + 8, 1200), r=40) & block(
        0, 0, ALL, DOOR_TOP
    )
    b.plate(
        "doorin",
        "xz",
        s * (INNER + 4),
        [
            (L("doorin"), door),
            (L("doorin", "door.low"), door & block(0, 0, ALL, 706)),
            (L("doorin/hatch"), block(790, 760, 1210, 940, 40)),
        ],
    )
    b.plate("doorin", "xy", DOOR_TOP, [(L("doortop"), flat(DASH + 4, INNER + 4, DOOR_BACK, 738))])
    arch = shape((AXLE - 490, 440), (AXLE - 430, HOUSE_TOP), (AXLE + 430, HOUSE_TOP), (AXLE + 490, 440), r=90)
    quarter = block(DOOR_BACK + 2, FLOOR, TAIL - 44, RAIL - 2) - shape(
        (DOOR_BACK, DOOR_TOP), (DOOR_BACK + 100, RAIL), (DOOR_BACK, RAIL)
    )
    b.plate("quarterin", "xz", s * INNER, [(L("quarterin"), quarter - arch.buffer(-15))])
    b.plate("quarterin", "yz", TAIL - 44, [(L("postin"), block(s * GATE, CARGO, s * INNER, RAIL - 2))])
    house = arch & block(0, CARGO - 40, ALL, ALL)
    ring = np.asarray(house.exterior.segmentize(40).coords)[:-1]
    ring = ring[ring[:, 1] > CARGO - 39]
    ring = ring[np.argsort(ring[:, 0])]
    b.sheet(
        "house",
        lambda U, V: (ring[U.astype(int), 0], s * V, ring[U.astype(int), 1]),
        np.arange(len(ring)),
        [HOUSE - 4, 730],
        [(L("house"), block(-1, 0, len(ring), ALL))],
    )
    seam = house & block(0, 0, ALL, CARGO + 84)
    b.plate("house", "xz", s * (HOUSE - 4), [(L("house"), house), (L("house", "arch.inner"), seam)])
    b.plate("house", "xy", CARGO + 3, [(L("houseflange", "arch.inner"), flat(AXLE - 452, HOUSE - 66, AXLE + 452, HOUSE - 3))])
    foot = flat(1885, 530, 2035, 682, 16)
    b.prism("house", "xy", foot, HOUSE_TOP, HOUSE_TOP + 10, L("rollfoot", "rollfeet"))
    bolts = [(L("rollbolt", None, "well"), disc(x, s * y, 10)) for x in (1906, 2014) for y in (552, 660)]
    b.plate("house", "xy", HOUSE_TOP + 13, bolts)
    dark = (
        (arch.buffer(-4) & block(0, SILL, ALL, ALL))
        | block(AXLE - 640, SILL, AXLE, CARGO - 20)
        | block(AXLE, 570, AXLE + 620, CARGO - 20)
    )
    b.plate("well", "xz", s * 606, [(L("rearwell", None, "well"), dark)])
    b.plate("houseunder", "xy", HOUSE_TOP - 6, [(L("backing", "rollfeet"), foot)])
    b.plate("houseunder", "xz", s * (HOUSE + 4), [(L("houseout", "arch.inner"), house)])


def floor_middle(b: Body) -> None:
    """Tunnel, cargo floor, rear sill, bulkhead and dash."""
    C = centre(CODE)
    for part, dz in (("floor", 0), ("floorunder", -6)):
        b.plate(
            part, "xy", lambda U, V, dz=dz: floor_z(U, V) + dz, [(C("tunnel" + part), block(WALL + 4, -161, SEAT, 161))], step=16
        )
    b.prism("floor", "xy", block(SEAT, -165, SEAT_BACK, 165), FLOOR, 723, C("tunnelbox"))
    houses = [block(AXLE - 452, q * (HOUSE - 4), AXLE + 452, q * ALL) for q in (1, -1)]
    cargo = block(SEAT_BACK, -INNER, TAIL - 44, INNER) - houses[0] - houses[1]
    beads = [block(1790, y - 27, 2690, y + 27, 22) for y in (-285, -95, 95, 285)]
    b.plate(
        "floor",
        "xy",
        CARGO,
        [(C("cargo", "floor.cargo"), cargo), *((C(f"cargo/bead{k}", "floor.cargo"), q) for k, q in enumerate(beads))],
    )
    b.plate("floorunder", "xy", CARGO - 6, [(C("cargounder", "floor.cargo"), cargo)])
    b.plate("floorunder", "yz", SEAT_BACK, [(C("cargostep", "floor.cargo"), block(-INNER, FLOOR - 6, INNER, CARGO))])
    b.prism("sill", "xy", block(TAIL - 92, -690, TAIL - 6, 690, 10), 612, CARGO - 3, C("rearsill", "floor.rear_sill"))
    b.plate("sill", "xy", CARGO + 4, [(C("rearsilltop", "floor.rear_sill"), block(TAIL - 92, -GATE, TAIL - 6, GATE))])
    z = np.linspace(SILL, COWL - COWL_ROLL, 30)
    t = np.linspace(0, np.pi / 2, 12)
    w = float(half_width(COWL - COWL_ROLL)) - COWL_ROLL
    half = [
        *zip(half_width(z) - 2, z, strict=True),
        *zip(w - 2 + COWL_ROLL * np.cos(t), COWL - COWL_ROLL + COWL_ROLL * np.sin(t), strict=True),
    ]
    outline = shape(*half, *[(-y, h) for y, h in half[::-1]])
    b.plate("firewall", "yz", WALL + 1, [(C("firewall"), outline), (C("firewall/heater"), block(-430, 900, -200, 1050, 20))])
    b.plate(
        "dash",
        "yz",
        DASH,
        [
            (C("dashface"), outline & block(-ALL, 905, ALL, ALL)),
            (C("dash/glove"), block(-560, 940, -260, 1070, 20)),
            (C("grab", None, "part"), block(-600, 1082, -220, 1096, 7)),
            (C("gauge", None, "glass"), disc(80, 1010, 68)),
            *((C(f"gauge{y}", None, "glass"), disc(y, 1030, 32)) for y in (-50, -140)),
            (C("speedo", None, "glass"), disc(340, 1010, 32)),
        ],
    )


def _seat(b: Body, name: str, y: float) -> None:
    cushion = shape((1190, 736), (1590, 736), (1590, 800), (1180, 826), r=22)
    back = shape((1545, 790), (1625, 790), (1712, 1120), (1690, 1146), (1640, 1146), r=20)
    for part, polygon in (("cushion", cushion), ("back", back)):
        b.prism("seat", "xz", polygon, y - 215, y + 215, Label(f"{part}{name}", None, "soft"))


def seats_and_wheel(b: Body) -> None:
    """Two plain seats, steering wheel, pedals, gear lever."""
    for name, y in (("l", 385.0), ("r", -385.0)):
        _seat(b, name, y)
    steering(b, 1030, 385, 1050, r=190, foot=(560, 770))
    pedals(b, 770, 790)
    lever(b, 960, FLOOR + 96)
