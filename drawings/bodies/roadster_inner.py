"""What lies under the roadster's outer panels: sills, posts, floor, bulkhead, wheel houses, trunk, fittings."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import block, disc, mirrored, rounded, shape, steps
from engine.sides import Side, centre
from engine.solid import Body, Label
from parts.bucket import bucket_seat
from parts.seats import lever, pedals, steering
from shapely.geometry import LineString

from bodies.roadster_shape import (
    ALL,
    AXLE,
    CODE,
    DOOR_END,
    EDGE,
    FENDER_END,
    FLOOR,
    INNER,
    MIDDLE_OF_SILL,
    SILL,
    STEP,
    TRUNK,
    brow,
    crown,
    side_y,
)

WALL, TOE, HEEL, BACK, TRUNK_END = 600, 770, 1552, 1900, 2966
SILL_FRONT, SILL_REAR = 424, 1790
BULKHEAD_TOP = 806
EDGE_OF_FENDER = brow(np.linspace(-700, 640, 120))[:2]


def floor_z(x: Any, y: Any) -> Any:
    """Height of the floor: level, rising forward to the toe board and behind to the rear floor over the kick-up."""
    return np.interp(x, [WALL, TOE, HEEL - 18, HEEL + 14, BACK], [444, FLOOR, FLOOR, 420, 420]) + 0 * y


def sills(b: Body, side: Side) -> None:
    """The sill behind its outer skin: inner skin, stiffener, ends with closing plates; the two posts."""
    L, s = side.label, side.s
    inner = block(FENDER_END - 90, SILL + 8, DOOR_END + 90, STEP - 2)
    b.plate("sillin", "xz", s * INNER, [(L("sillin", "sill.in"), inner)])
    member = block(FENDER_END + 2, SILL + 12, DOOR_END - 2, STEP - 4)
    holes = [(L(f"mem/{k}", "sill.mem"), disc(x, (SILL + STEP) / 2 + 4, 27)) for k, x in enumerate(np.linspace(782, 1354, 6))]
    ridges = [(L(f"mem/r{k}", "sill.mem"), block(FENDER_END + 10, z, DOOR_END - 10, z + 8)) for k, z in enumerate((214, 324))]
    b.plate("mem", "xz", s * MIDDLE_OF_SILL, [(L("mem", "sill.mem"), member), *ridges, *holes])
    b.sheet(
        "sillstep",
        lambda U, V: (U, s * (INNER + (side_y(U, STEP - 2 + 0 * U) - INNER) * V / 100), STEP - 1 + 0 * U),
        steps(FENDER_END, DOOR_END, 30),
        [0, 100],
        [(L("step", "sill.in"), block(0, -1, ALL, 44)), (L("step", "sill.out"), block(0, 44, ALL, 101))],
    )
    b.sheet(
        "sillunder",
        lambda U, V: (U, s * (INNER + (side_y(U, SILL + 2 + 0 * U) - 2 - INNER) * V / 100), SILL + 10 - 8 * V / 100),
        steps(FENDER_END, DOOR_END, 30),
        [0, 100],
        [(L("sillfoot", "sill.in"), block(0, -1, ALL, 22)), (L("sillfoot", "sill.out"), block(0, 22, ALL, 101))],
    )
    for x0, x1, close in ((SILL_FRONT, FENDER_END, SILL_FRONT), (DOOR_END, SILL_REAR, SILL_REAR - 12)):
        x = np.linspace(x0, x1, 12)
        out = side_y(x, 220 + 0 * x) - 16
        foot = shape(*side.points((x0, INNER), *zip(x, out, strict=True), (x1, INNER)))
        b.prism("sillend", "xy", foot, SILL + 8, STEP - 4, L("sillend", "sill.end"))
        plate = side.flat(close, INNER, close + 12, float(side_y(close, 230)) - 24)
        b.prism("sillend", "xy", plate, SILL + 14, STEP + 40, L("sillclose", "sill.end"))
    for name, x0, x1, y1 in (("apost", FENDER_END - 100, FENDER_END - 6, 716), ("bpost", DOOR_END + 6, DOOR_END + 96, 700)):
        b.prism("post", "xy", side.flat(x0, EDGE - 6, x1, y1 - 24, 10), STEP - 4, 742, L(name, name))
    hinges = [block(FENDER_END - 92, z, FENDER_END - 14, z + 70, 8) for z in (430, 610)]
    for k, hinge in enumerate(hinges):
        b.plate("post", "xz", s * 694, [(L(f"apost/{k}", "apost"), hinge)])
    b.plate("post", "xz", s * 679, [(L("bpost/striker", "bpost"), block(DOOR_END + 24, 560, DOOR_END + 76, 640, 8))])


def tub(b: Body, side: Side) -> None:
    """Toe board, floor pan with mount plates, footwell side, inner fender of one side."""
    L, flat, s = side.label, side.flat, side.s
    toe, pan = flat(WALL, 146, TOE, INNER - 1), flat(TOE, 146, HEEL - 18, INNER - 1)
    beads = [(L(f"floorpan/{k}", "floor.f"), flat(930, q, 1330, q + 40, 18)) for k, q in enumerate((210, 300, 390))]
    mounts: list[tuple[Label | None, Any]] = []
    for x in (838, 1450):
        mounts += [
            (L(f"mount{x}", "mount.floor"), flat(x - 58, INNER - 136, x + 58, INNER - 18, 18)),
            (L(f"mount{x}/bolt", "mount.floor"), disc(x, s * (INNER - 77), 22)),
        ]
    b.plate("floor", "xy", floor_z, [(L("toe", "toe"), toe), (L("floorpan", "floor.f"), pan), *beads, *mounts], step=32)
    under = [(L("toeunder", "toe"), toe), (L("panunder", "floor.f"), pan), *beads]
    b.plate("floorunder", "xy", lambda U, V: floor_z(U, V) - 5, under, step=32)
    hole = block(626, 470, 676, 560, 14)
    kick = shape((WALL, 452), (WALL, 640), (700, 640), (TOE + 36, FLOOR), (TOE - 1, FLOOR))
    b.plate("kick", "xz", s * (INNER + 1), [(L("kick", "toe"), kick), (None, hole)])
    b.plate("kick", "xz", s * (INNER + 3), [(L("kickwell", "apost"), hole.buffer(2))])

    def apron(U: Any, V: Any) -> tuple[Any, Any, Any]:
        low = 330.0
        high = crown(U, 455) - 52
        out = np.maximum(0, V - 100) / 100 * (0.95 * np.interp(U, *EDGE_OF_FENDER) - 452)
        return U, s * (452 + out), np.where(V <= 100, low + (high - low) * V / 100, high - (V - 100) * 0.12)

    b.sheet(
        "apron",
        apron,
        steps(-500, WALL - 4, 24),
        [0, 50, 100, 150, 200],
        [(L("apron", "innerwing"), block(-500, -1, WALL - 4, 201))],
        sharp=True,
    )


def doors_inside(b: Body, side: Side) -> None:
    """The lining that faces the cockpit: door, rear quarter; the seat."""
    L = side.label
    b.plate(
        "lining",
        "xz",
        side.s * (INNER - 6),
        [
            (L("doorlining"), block(FENDER_END + 6, STEP, DOOR_END - 4, 756)),
            (L("doorlining/pocket"), block(840, 410, 1290, 590, 24)),
            (L("pull", None, "part"), block(1240, 660, 1350, 680, 9)),
        ],
    )
    b.plate(
        "lining",
        "xz",
        side.s * (INNER + 2),
        [
            (L("quarter"), block(DOOR_END + 4, 300, 1836, 744)),
            (L("bpostin", "bpost"), block(DOOR_END + 4, STEP - 2, DOOR_END + 100, 742)),
        ],
    )
    bucket_seat(b, side, 1006, 352, FLOOR)


def wheel_house(b: Body, side: Side) -> None:
    """Rear wheel house: inner wall and roof; trunk floor beside it."""
    L, s = side.label, side.s
    r, z0 = 384.0, 306.0
    house = rounded(disc(AXLE, z0, r) & block(0, 0, ALL, 662), 60) & block(0, 330, ALL, ALL)
    b.plate("house", "xz", s * 470, [(L("house", "arch.r"), house)])
    top = np.asarray((house & block(0, 331, ALL, ALL)).exterior.segmentize(24).coords)
    top = top[(top[:, 1] > 345)]
    top = top[np.argsort(top[:, 0])]
    b.sheet(
        "house",
        lambda U, V: (top[U.astype(int), 0], s * V, top[U.astype(int), 1]),
        np.arange(len(top)),
        [470, 560, 660],
        L("house", "arch.r"),
    )
    b.plate(
        "houseseam",
        "xz",
        s * 672,
        [(L("houseseam", "arch.r"), (house.buffer(-1) - house.buffer(-44)) & block(0, 400, ALL, ALL))],
    )
    C = centre(CODE)
    for part, dz in (("bootfloor", 0), ("bootunder", -6)):
        side_floor = shape((AXLE + 372, 464), (AXLE + 372, 610), (2860, 586), (TRUNK_END, 500), (TRUNK_END, 464))
        b.plate(part, "xy", TRUNK + dz, [(C("boot" + part, "boot.floor"), mirrored(side_floor, s))])


def deck_well(b: Body) -> None:
    """The well that the soft top folds into."""
    C = centre(CODE)
    b.plate("deckwell", "xy", 640, [(C("well", "deck"), block(1668, -492, 1876, 492))])
    for x in (1668, 1876):
        b.plate("deckwell", "yz", x, [(C("wellwall", "deck"), block(-492, 640, 492, 760))])
    for y in (-492, 492):
        b.plate("deckwell", "xz", y, [(C("wellend", "deck"), block(1668, 640, 1876, 768))])
    for k, y in enumerate((-330, 330)):
        b.plate("deckwell", "xy", 643, [(C(f"well/{k}", "deck"), block(1700, y - 120, 1844, y + 120, 24))])


def middle(b: Body, battery_side: str) -> None:
    """What spans the vehicle inside: tunnel, bulkhead with shelf and vent box, rear floor, battery box, tank, trunk floor."""
    C = centre(CODE)

    def tunnel(U: Any, V: Any) -> Any:
        high = np.interp(U, [WALL, 860, 1100, HEEL], [230, 190, 150, 130])
        return FLOOR + high * np.sqrt(np.maximum(0, 1 - (np.abs(V) / 148) ** 2.6))

    b.plate("tunnel", "xy", tunnel, [(C("tunnel"), block(WALL, -147, HEEL + 12, 147))], step=14)
    rear = block(HEEL - 18, -INNER + 1, BACK, INNER - 1) - block(HEEL - 20, -147, HEEL + 4, 147)
    ribs = [(C(f"rearfloor/{k}", "floor.r"), block(1620, q - 30, 1860, q + 30, 20)) for k, q in enumerate((-520, -80, 80, 520))]
    b.plate("floor", "xy", floor_z, [(C("rearfloor", "floor.r"), rear), *ribs], step=16)
    b.plate("floorunder", "xy", lambda U, V: floor_z(U, V) - 5, [(C("rearunder", "floor.r"), rear)], step=16)
    side = 1 if battery_side == "l" else -1
    box = block(1618, side * 130, 1846, side * 410, 16)
    b.plate(
        "floor", "xy", 423, [(C("battery", "battery.r"), box), (C("battery/tray", "battery.r"), box.buffer(-26, join_style=2))]
    )
    b.plate("floor", "xy", 425, [(C("drain", None, "well"), disc(1660, side * 180, 11))])
    b.prism("battery", "xy", box, 296, 412, C("batterybox", "battery.r"))
    firewall = shape((-INNER, FLOOR), (INNER, FLOOR), (INNER, 730), (420, BULKHEAD_TOP), (-420, BULKHEAD_TOP), (-INNER, 730))
    b.plate("firewall", "yz", WALL - 2, [(C("firewall"), firewall)])
    shelf = block(452, -448, WALL - 4, 448, 14)
    b.prism("shelf", "xy", shelf, 612, 628, C("shelf", "bulkhead"))
    tray = block(474, -380, 584, -150, 12)
    b.plate("shelf", "xy", 631, [(C("shelf/tray", "bulkhead"), tray), (C("shelf/lip", "bulkhead"), tray.buffer(-14))])
    b.turn("shelf", (522, 300, 628), [(0, 42), (84, 42), (84, 34), (104, 34), (104, 0)], C("reservoir", None, "part"), axis="z")
    b.prism("ventbox", "xy", block(566, -300, 684, 300, 12), 716, 830, C("ventbox", "scuttle"))
    panel = rounded(shape((-584, 620), (584, 620), (584, 764), (380, 842), (-380, 842), (-584, 764)), 24)
    faces = [
        (C("dashface"), panel),
        *(
            (C(f"gauge{k}", None, "glass"), disc(y, 736, r))
            for k, (y, r) in enumerate(((410, 52), (270, 52), (60, 34), (-30, 34)))
        ),
    ]
    b.plate("dash", "yz", 842, [*faces, (C("dashface/glove"), block(-500, 660, -180, 772, 16))])
    steering(b, 1010, 340, 730, r=190, foot=(640, 470))
    pedals(b, 690, 430, places=(420, 300))
    lever(b, 960, FLOOR + 194)
    b.plate(
        "bulkback",
        "yz",
        BACK,
        [(C("bulkback"), shape((-INNER, 420), (INNER, 420), (INNER, 700), (500, 760), (-500, 760), (-INNER, 700)))],
    )
    b.prism("tank", "xy", block(1922, -430, 2128, 430, 44), TRUNK + 4, 690, C("tank", "tank"))
    for y in (-250, 250):
        b.prism("tank", "xy", block(1914, y - 20, 2136, y + 20), TRUNK + 2, 696, C(f"strap{y}", "tank"))
    trunk_floor(b)


def trunk_floor(b: Body) -> None:
    """The floor of the trunk with the sunk well of the spare wheel."""
    C, well = centre(CODE), disc(2630, 0, 244)
    pan = block(BACK + 4, -466, TRUNK_END, 466, 4) - well
    beads = [(C(f"boot/{k}", "boot.floor"), block(2170, y - 150, 2290, y + 150, 30)) for k, y in enumerate((-230, 230))]
    b.plate("bootfloor", "xy", TRUNK, [(C("bootbootfloor", "boot.floor"), pan), *beads])
    b.plate("bootunder", "xy", TRUNK - 6, [(C("bootbootunder", "boot.floor"), pan)])
    b.turn("spare", (2630, 0, 0), [(332, 0), (332, 226), (TRUNK, 244)], C("spare", "spare"), axis="z", n=96)
    b.plate(
        "spare",
        "xy",
        336,
        [(C("spare/dish", "spare"), disc(2630, 0, 110)), (C("sparedrain", None, "well"), disc(2630, -170, 12))],
    )


def cut_edges(b: Body, side: Side) -> None:
    """The sheets that a cut lengthwise goes through, as strips: toe board, floors, heel board, bulkheads, trunk floor."""
    L, C, s = side.label, centre(CODE), side.s
    x = np.array([WALL, TOE, HEEL - 18, HEEL + 14, BACK])
    z = floor_z(x, 0.0)
    spans = [(L("cuttoe", "toe"), 0, 1), (L("cutfloor", "floor.f"), 1, 2), (C("cutrear", "floor.r"), 2, 4)]
    strips: list[tuple[Label | None, Any]] = []
    for label, i, j in spans:
        p = list(zip(x[i : j + 1].tolist(), z[i : j + 1].tolist(), strict=True))
        strips.append((label, LineString(p).buffer(8, cap_style=2, join_style=2)))
    strips += [
        (C("cutwall"), block(WALL - 10, 428, WALL + 4, BULKHEAD_TOP)),
        (C("cutback"), block(BACK - 4, 404, BACK + 10, 748)),
        (C("cutboot", "boot.floor"), block(BACK + 10, TRUNK - 16, 2378, TRUNK) | block(2882, TRUNK - 16, TRUNK_END, TRUNK)),
        (
            C("cutspare", "spare"),
            LineString([(2386, TRUNK), (2404, 332), (2856, 332), (2874, TRUNK)]).buffer(8, cap_style=2, join_style=2),
        ),
    ]
    b.plate("cut", "xz", s * 4, strips)
