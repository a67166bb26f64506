"""What lies under and inside the pickup's skin: frame, running gear, cab floor and fittings, engine bay."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, curve, disc, shape, steps
from engine.sides import Side, centre
from engine.solid import Body, Label
from parts.axles import beam_axle, drive_shaft, live_axle
from parts.engine import gearbox, hoses, inline_engine, radiator
from parts.ladder import Rails
from parts.seats import lever, pedals, seat_feet, steering
from parts.springs import leaf_spring
from parts.wheels import wheel

from bodies.pickup_shape import AXLE, CAB_BACK, CODE, COWL, FLOOR, NOSE, SILL, crown, side_y

rails = Rails(
    -860,
    4010,
    y=curve([-860, -500, 700, 1500, 2200, 4010], [395, 390, 390, 450, 485, 485]),
    z=curve([-860, -420, 300, 2150, 2700, 3150, 3600, 4010], [560, 510, 470, 470, 640, 640, 628, 628]),
    height=curve([-860, -420, 300, 2150, 2900, 4010], [105, 140, 150, 150, 130, 115]),
)


def frame_side(b: Body, side: Side) -> None:
    """One rail with its zones, brackets, hangers and springs; the wheels."""
    L = side.label
    tail = Label(f"rail.{side.letter}", "pu.frame.tail")
    ends = [
        ("horn", -860, -430),
        ("engine_bay", -430, 480),
        ("under_cab", 480, 1770),
        ("behind_cab", 1770, 2420),
        ("kick", 2420, 3500),
    ]
    rails.draw(
        b,
        side,
        [(x0, x1, L("rail", f"frame.{name}")) for name, x0, x1 in ends] + [(3500, 4010, tail)],
        top=[(1830, 3690, L("rail", "frame.top_bed"))],
    )
    for x in (840, 1620):
        rails.outrigger(b, side, x, 694, 545, L(f"bracket{x}", "frame.cab_bracket"))
        b.turn(
            "rubber",
            (x, side.s * 630, 0),
            [(573, 0), (573, 48), (FLOOR - 28, 48), (FLOOR - 28, 0)],
            L(f"rubber{x}", None, "part"),
            n=40,
            axis="z",
        )
    rails.hanger(b, side, [(2228, 590), (2440, 585), (2392, 420), (2310, 420)], 512, 604, L("eye", "frame.front_eye"))
    rails.hanger(
        b, side, [(3490, 640), (3670, 640), (3636, 448), (3550, 420), (3520, 470)], 512, 604, L("shackle", "frame.shackle")
    )
    leaf_spring(b, side, "rear", 2352, 3586, 558, 473, rise=-15)
    leaf_spring(b, side, "front", -540, 560, 395, 378, rise=38, leaves=3, wide=58)
    for x, y in ((0, 798), (AXLE, 795)):
        wheel(b, side, x, y)


def frame_middle(b: Body) -> None:
    """Cross pieces and what turns between the rails."""
    C = centre(CODE)
    bow = shape((-125, -358), (-70, -250), (-60, 250), (-125, 358), (125, 358), (75, 250), (75, -250), (125, -358), r=16)
    b.prism("frame", "xy", bow, 430, 520, C("enginecm", "frame.engine_cm"))
    for x, z, tall in ((1180, 450, 50), (2180, 520, 80), (2680, 655, 80), (3330, 650, 80)):
        rails.cross(b, x, z, C(f"cross{x}"), tall=tall)
    b.prism("frame", "xy", block(3946, -453, 4006, 453), 585, 680, C("tailcm", "frame.tail"))
    b.prism(
        "frame",
        "xy",
        shape((3690, -453), (3752, -453), (3738, -300), (3738, 300), (3752, 453), (3690, 453), r=10),
        600,
        660,
        C("sparecm", "frame.tail"),
    )
    inline_engine(b, -390, 330, 350, 850)
    radiator(b, -606, 340, 600, 1040)
    hoses(b, (-556, -110, 994), (-376, 105, 910), (320, 125, 810), COWL)
    gearbox(b, 340, 1070, 520)
    drive_shaft(b, 1070, AXLE - 172, 0, 525, 380)
    live_axle(b, AXLE, 370, 690)
    beam_axle(b, 0, 370, 705)
    for x, z, h, name in ((-972, 575, 150, "front"), (4122, 590, 130, "rear")):
        y = np.linspace(-930, 930, 61)
        b.sweep(
            "bumper",
            np.c_[x - np.sign(x) * (96 * np.abs(y / 930) ** 5 + 20 * (y / 930) ** 2), y, 0 * y + z],
            bar(40, h, 18, 6),
            C(f"bumper{name}", None, "soft"),
        )
        for s in (1, -1):
            end = -840 if x < 0 else 3995
            b.prism("iron", "xy", block(x, s * 372, end, s * 428), z - 26, z + 26, C(f"iron{name}{s}", None, "part"))
    b.prism("plate", "yz", block(-155, 548, 155, 628, 8), -996, -994, C("number", None, "glass"))


def floor_side(b: Body, side: Side) -> None:
    """Floor pan from above and below, its braces and mounts, the rocker and the pockets behind the skin."""
    L, flat = side.label, side.flat
    toe, pan, rear = flat(COWL + 4, 150, 745, 800), flat(745, 150, 1330, 785), flat(1330, 0, 1745, 785)
    mount = disc(840, side.s * 630, 78)
    beads = [(L(f"floorpan/bead{k}", "floor.front"), flat(900, q, 1260, q + 44, 20)) for k, q in enumerate((220, 330, 440))]
    b.plate(
        "floor",
        "xy",
        floor_z,
        [
            (L("toeboard", "floor.toe"), toe),
            (L("floorpan", "floor.front"), pan),
            *beads,
            (L("mount", "mount.front"), mount),
            (L("mount/bolt", "mount.front"), disc(840, side.s * 630, 26)),
        ],
        step=40,
    )
    C = centre(CODE)
    b.plate(
        "floorunder",
        "xy",
        lambda U, V: floor_z(U, V) - 5,
        [
            (L("toeunder", "floor.toe"), toe),
            (L("panunder", "floor.front"), pan),
            *((L(f"panunder/{label.panel}", "floor.front"), bead) for label, bead in beads),
            (C("floorback", "floor.rear"), rear),
        ],
        step=40,
    )
    b.prism("floorunder", "xy", flat(1540, 552, 1716, 712, 20), FLOOR - 28, FLOOR - 6, L("rearmount", "mount.rear"))
    b.plate("floorunder", "xy", FLOOR - 30, [(L("rearmount/bolt", "mount.rear"), disc(1620, side.s * 630, 26))])
    b.prism("brace", "xy", flat(700, 716, 1430, 790, 10), 560, FLOOR - 6, L("brace", "floor.brace"))
    b.prism("brace", "xy", flat(1036, 470, 1124, 718, 8), 585, FLOOR - 6, L("brace", "floor.brace"))
    b.plate(
        "rocker",
        "xz",
        lambda U, V: side.s * (786 + 30 * (FLOOR - V) / 200),
        [(L("rockerin", "rocker.inner"), block(COWL, 436, 1446, FLOOR - 2))],
    )
    b.sheet(
        "rocker",
        lambda U, V: (U, side.s * (800 + (side_y(U, 506 + 0 * U) - 800) * V / 100), 506 + 0 * U),
        steps(COWL, 1448, 30),
        [0, 100],
        L("sillstep", "rocker.outer"),
    )
    for x0, x1, paint in (
        (
            COWL,
            1446,
            [
                (L("rockerfoot", "rocker.inner"), block(COWL, 0, 1446, 48)),
                (L("rockerfoot", "rocker.outer"), block(COWL, 48, 1446, 101)),
            ],
        ),
        (1446, CAB_BACK - 12, L("cornerfoot", "corner.outer")),
    ):
        b.sheet(
            "rockerunder",
            lambda U, V: (U, side.s * (790 + (side_y(U, SILL + 0 * U) - 790) * V / 100), 440 - 14 * V / 100),
            steps(x0, x1, 20),
            [0, 100],
            paint,
        )
    kick = shape(*side.points((574, 806), (690, 806), (690, 925), (574, 925)), r=16)
    b.prism("pocket", "xy", kick, 500, 1010, L("kick", "cowl.side"))
    b.plate(
        "pocket",
        "xz",
        side.s * 804,
        [
            (L("kickpanel"), block(574, 500, 790, 1090, 16)),
            (L("kickpanel", "cowl.side"), block(574, 500, 760, 960, 16)),
            (L("kickvent", None, "well"), block(620, 790, 712, 900, 12)),
        ],
    )
    x = np.linspace(1452, CAB_BACK - 14, 24)
    out = side_y(x, 600 + 0 * x) - 26
    b.plate(
        "pocket",
        "xy",
        FLOOR + 20,
        [(L("corner", "corner.inner"), shape(*side.points((1452, 785), *zip(x, out, strict=True), (CAB_BACK - 14, 785))))],
        step=30,
    )
    b.plate("pocket", "xz", side.s * 790, [(L("corner", "corner.inner"), block(1450, 440, CAB_BACK - 16, FLOOR + 150, 10))])


def floor_z(x: Any, y: Any) -> Any:
    """Height of the cab floor: level, rising to the toe board, with the tunnel in the middle."""
    flat = FLOOR + np.maximum(0, 800 - x) * 0.9
    tunnel = 84 * np.sqrt(np.maximum(0, 1 - (np.abs(y) / 152) ** 2.2))
    return flat + np.where(x < 1332, tunnel, 0)


def cab_inside(b: Body) -> None:
    """Tunnel, rear floor, tank, firewall, dash, fittings."""
    C = centre(CODE)
    for part, dz in (("floor", 0), ("floorunder", -5)):
        b.plate(
            part, "xy", lambda U, V, dz=dz: floor_z(U, V) + dz, [(C("tunnel" + part), block(COWL + 4, -151, 1330, 151))], step=16
        )
    beads = [(C(f"rearfloor/{k}", "floor.rear"), block(1400, q - 170, 1500, q + 170, 36)) for k, q in enumerate((-420, 0, 420))]
    b.plate("floor", "xy", FLOOR, [(C("rearfloor", "floor.rear"), block(1330, -785, 1745, 785)), *beads])
    b.prism("tank", "xy", block(1545, -560, 1715, 560, 50), FLOOR + 10, 1080, C("tank", "tank"))
    for y in (-330, 330):
        b.prism("tank", "xy", block(1540, y - 22, 1720, y + 22), FLOOR, 1084, C(f"strap{y}", "tank"))
    b.plate(
        "firewall",
        "yz",
        COWL + 3,
        [
            (C("firewall"), shape((-860, 640), (860, 640), (860, 1110), (-860, 1110))),
            (C("firewall/heater"), block(-520, 860, -260, 1040, 20)),
        ],
    )
    b.plate(
        "dash",
        "yz",
        742,
        [
            (C("dashface"), block(-800, 930, 800, 1136, 30)),
            (C("dash/glove"), block(-640, 965, -300, 1105, 18)),
            (C("gauge", None, "glass"), disc(370, 1040, 78)),
            (C("gauge2", None, "glass"), disc(180, 1030, 46)),
            (C("speaker", None, "well"), block(-160, 985, 60, 1085, 14)),
        ],
    )
    b.sheet(
        "dash",
        lambda U, V: (630 + V * 1.2 + 80 * (U / 820) ** 2 * (1 - V / 100), U, 1156 - 0.18 * V),
        steps(-800, 800),
        [0, 100],
        [(C("dashtop", "ws.inner"), block(-790, 0, 790, 100))],
    )
    seat_feet(b, [(x, y) for x in (1180, 1420) for y in (-620, -260, 260, 620)], FLOOR)
    steering(b, 1010, 370, 1075)
    pedals(b, 790, 760)
    lever(b, 900, FLOOR + 84)


def engine_bay(b: Body, side: Side, battery_side: str) -> None:
    """Inner fender, radiator support half, battery tray on its side."""
    L, flat = side.label, side.flat
    b.sheet(
        "apron",
        lambda U, V: (U, side.s * (722 - 212 * V / 300), crown(U, 742) - 30 - 290 * (V / 300) ** 1.6),
        steps(-600, COWL, 40),
        steps(0, 300, 20),
        [(L("apron", "apron"), block(-600, 0, COWL, 300))],
    )
    b.plate("apron", "xy", lambda U, V: crown(U, 742) - 28, [(L("apron", "apron"), flat(-600, 720, COWL, 764))])
    if battery_side == side.letter:
        C, tray = centre(CODE), flat(-560, 394, -300, 576, 18)
        b.prism("battery", "xy", tray, 925, 940, C("tray", "battery"))
        b.prism("battery", "xy", tray - tray.buffer(-16), 940, 972, C("traylip", "battery"))
        b.plate("battery", "xy", 941, [(C("traydrain", None, "well"), disc(-330, side.s * 536, 11))])
        b.prism("battery", "xy", flat(-470, 470, -400, 560), 640, 925, C("trayleg", "battery"))


def radiator_support(b: Body) -> None:
    """The upright frame in front of the radiator and its top bar."""
    C, frame = centre(CODE), block(-720, 590, 720, 1052, 30) - block(-350, 650, 350, 1000, 30)
    b.plate(
        "slam",
        "xy",
        lambda U, V: crown(U, V) - 70,
        [(C("slam"), block(NOSE + 96, -640, -692, 640)), (C("latch", None, "part"), block(-740, -60, -705, 60, 10))],
        step=20,
    )
    b.prism("radsupport", "yz", frame, -650, -634, C("radsupport", "radsupport"))
    b.plate("radsupport", "xy", 1054, [(C("radtop", "radsupport"), block(-692, -720, -612, 720, 16))])
