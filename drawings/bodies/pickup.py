"""An invented farm pickup on a ladder frame: front axle at x = 0, ground at z = 0, millimetres."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, disc, rounded, shape, steps
from engine.sides import Side, centre, sides
from engine.solid import Body, Label

from bodies.pickup_shape import (
    ALL,
    AXLE,
    BED,
    BED_FLOOR,
    BELT,
    CAB_BACK,
    CODE,
    COWL,
    DRIP,
    FRONT_ARCH,
    HOOD,
    HOOD_U,
    MIDDLE,
    RAIL,
    REAR_ARCH,
    SILL,
    SWAGE,
    TAIL,
    barrel,
    brow,
    crown,
    half_width,
    side_y,
    skin_sheet,
)
from bodies.pickup_under import cab_inside, engine_bay, floor_side, frame_middle, frame_side, radiator_support


def front_clip(b: Body, side: Side) -> None:
    """Fender and nose half on the skin, fender top and hood half above it."""
    C, u = centre(CODE), np.linspace(MIDDLE - 1, COWL, 200)
    x, y, start = brow(u)
    fender = shape((-500, 560), (COWL, 560), (COWL, SILL), (COWL, 1300), (-500, 1300)) | shape(
        (0, SILL), (COWL, SILL), (COWL, 600), (0, 600)
    )
    fender = (
        fender | shape((-400, 560), (-640, 560), (-1000, 611), (MIDDLE - 20, 611), (MIDDLE - 20, 1360), (-400, 1360))
    ) - FRONT_ARCH
    lip = shape((MIDDLE - 90, start[0] + 10), *zip(u, start + 10, strict=True), (COWL, 1600), (MIDDLE - 90, 1600))
    lip = lip & shape((MIDDLE - 90, 0), (HOOD_U - 15, 0), (HOOD_U - 15, 975), (HOOD_U, 1115), (HOOD_U, 1700), (MIDDLE - 90, 1700))
    lip = rounded(lip, 24)
    m = MIDDLE
    mouth = block(m - 900, 735, m + 560, 948, 56) & block(m - 1, 0, ALL, ALL)
    slots = [(C("slot", None, "well"), block(m - 900, z, m + 530, z + 26, 12) & mouth) for z in range(762, 930, 44)]
    lamp, park = disc(m + 712, 864, 88), disc(m + 712, 716, 36)
    skin_sheet(
        b,
        "fender",
        side,
        [
            (C("fender"), fender - lip),
            (C("fender/swage"), fender & SWAGE & block(-640, 0, COWL - 6, ALL)),
            (
                Label("fender", f"pu.fender.low.{side.letter}"),
                fender & shape((341, 400), (600, 400), (600, 735), (440, 735)),
            ),
            (C("grille", None, "soft"), mouth),
            *slots,
            (side.label("bezel", None, "part"), lamp.buffer(22)),
            (side.label("lamp", None, "glass"), lamp),
            (side.label("lamp/ring", None, "glass"), lamp - lamp.buffer(-14)),
            (side.label("park", None, "part"), park.buffer(9)),
            (side.label("parklens", None, "glass"), park),
        ],
        (m, SILL, COWL, 1360),
        12,
    )
    skin_sheet(b, "hood", side, [(C("hood", "hood"), lip)], (m, 1000, HOOD_U, 1300), 10)
    top = shape(*side.points(*zip(x, y, strict=True)), (COWL, 0), (float(x[0]), 0))
    apart = block(-ALL, side.s * HOOD, ALL, side.s * ALL)
    b.plate("fender", "xy", crown, [(C("fender"), top & apart)], step=12, blend=True)
    rib = shape((-560, 0), (520, 0), (520, side.s * 280), (470, side.s * 300), (-470, side.s * 222), (-560, side.s * 190))
    b.plate("hood", "xy", crown, [(C("hood", "hood"), top - apart), (C("hood/rib", "hood"), rib)], step=12, blend=True)
    u = np.linspace(COWL, 700, 40)
    x, y, _ = brow(u)
    y = y - 3 * np.clip((u - 640) / 8, 0, 1)  # behind the foot of the pillar it lies inside the skin
    cowl = shape(*side.points(*zip(x, y, strict=True)), (700, 0), (COWL, 0))
    vents = [(C("vent", None, "well"), side.flat(573, q, 590, q + 118, 8)) for q in (20, 170, 320, 470)]
    b.plate("cowl", "xy", crown, [(C("cowl", "cowl.top"), cowl), *vents], step=12, blend=True)


def cab(b: Body, side: Side) -> None:
    """Cab side with pillar, rocker and rear corner; the door with its glass, in the same skin."""
    outline = shape(
        (COWL, SILL),
        (CAB_BACK, SILL),
        (CAB_BACK, BELT),
        (1681, DRIP),
        (939, DRIP),
        (704, 1181),
        (668, 1104),
        (654, 1098),
        (640, 1098),
        (640, 1400),
        (COWL, 1400),
    )
    door = (
        shape(
            (COWL - 20, 508),
            (1440, 508),
            (1452, 1640),
            (1430, 1662),
            (984, 1662),
            (768, 1212),
            (694, 1098),
            (640, 1097),
            (COWL, brow(COWL)[2]),
            (COWL - 20, brow(COWL)[2]),
        )
        .buffer(-16, quad_segs=12)
        .buffer(16, quad_segs=12)
    )
    pane = shape((790, 1228), (1408, 1228), (1408, 1622), (984, 1622), r=26)
    fixed, drop = pane & block(0, 0, 962, ALL), pane & block(988, 0, ALL, ALL)
    L = side.label
    skin_sheet(
        b,
        "cabskin",
        side,
        [
            (L("cab"), outline),
            (centre(CODE)("cowl", "cowl.top"), outline & block(COWL - 1, 1000, 640, ALL)),
            (L("cab", "apillar"), outline & shape((640, 1097), (1100, 1097), (1100, 1470), (640, 1470))),
            (L("cab", "driprail"), outline & block(900, 1672, 1700, 1700)),
            (L("cab/swage"), outline & SWAGE),
            (L("cab", "rocker.outer"), outline & block(COWL, 400, 1446, 508)),
            (
                L("cab", "corner.outer"),
                outline & shape((1446, 400), (1800, 400), (1800, 830), (1500, 830), (1400, 738), (1400, 508), (1446, 508)),
            ),
            (None, door),
        ],
        (COWL, SILL, CAB_BACK - 1, DRIP),
        7,
    )
    skin_sheet(
        b,
        "door",
        side,
        [
            (L("door"), door),
            (L("door/swage"), door & SWAGE),
            (L("door", "door.low"), door & block(500, 400, 1500, 628)),
            (L("door", "door.hinge"), door & shape((560, 628), (690, 628), (690, 1200), (560, 1200))),
            (L("doorseal", None, "well"), pane.buffer(15)),
            (L("glass", None, "glass"), drop),
            (L("glass", None, "glass"), fixed),
            (L("handle", None, "part"), block(1288, 1040, 1402, 1066, 12)),
            (L("lock", None, "part"), disc(1345, 1022, 11)),
        ],
        (COWL, 508, 1452, 1662),
        12,
    )
    x = np.linspace(936, 1650, 40)
    b.sweep("driprail", np.c_[x, side.s * (side_y(x, DRIP + 0 * x) + 7), 0 * x + DRIP + 2], bar(28, 24, 8), L("cab", "driprail"))


def bed_side(b: Body, side: Side) -> None:
    """Bed side skin, its top rail and inner wall, wheelhouse and rear post."""
    L, inner = side.label, side.s * 866
    wall = block(BED, 545, TAIL, RAIL, 14) - REAR_ARCH
    low = wall & (block(BED, 400, TAIL, 700) | disc(AXLE, 395, 540))
    skin_sheet(
        b,
        "bedside",
        side,
        [(L("bed"), wall), (L("bed", "bed.side"), low), (L("bed/swage"), wall & SWAGE)],
        (BED, 545, TAIL, RAIL),
        14,
    )
    x = np.r_[np.linspace(BED, TAIL - 26, 50), TAIL - 25 + 25 * np.sin(np.linspace(0, np.pi / 2, 24))]
    y = side_y(x, RAIL + 0 * x)
    b.plate(
        "bedrail",
        "xy",
        RAIL,
        [
            (
                L("bedrail"),
                shape(*side.points(*zip(x, y, strict=True), (TAIL - 2, 790), (TAIL - 42, 790), (TAIL - 42, 866), (BED, 866))),
            )
        ],
    )
    b.plate(
        "bedin",
        "xz",
        inner,
        [
            (L("bedin"), block(BED + 30, BED_FLOOR, TAIL - 40, RAIL) - disc(AXLE, 395, 460)),
            *((L(f"bedin/stake{k}"), block(q, 800, q + 70, RAIL, 10)) for k, q in enumerate((2200, 3600))),
        ],
    )
    turn = np.linspace(np.arcsin((BED_FLOOR - 560) / 425), np.pi - np.arcsin((BED_FLOOR - 560) / 425), 48)
    b.plate("wheelhouse", "xz", side.s * 660, [(L("house"), disc(AXLE, 560, 425) & block(0, BED_FLOOR, ALL, ALL))])
    b.sheet(
        "wheelhouse",
        lambda U, V: (AXLE + 425 * np.cos(turn[U.astype(int)]), side.s * V, 560 + 425 * np.sin(turn[U.astype(int)])),
        np.arange(48),
        [660, 866],
        L("house"),
    )
    z = np.linspace(560, RAIL, 30)
    edge = side_y(0 * z + TAIL - 8, z)
    post = shape(*[(side.s * q, h) for q, h in zip(edge, z, strict=True)], (side.s * 790, RAIL), (side.s * 790, 570))
    b.plate(
        "bedpost",
        "yz",
        TAIL - 6,
        [
            (L("bed"), post),
            (L("tailseal", None, "part"), block(side.s * 812, 815, side.s * 884, 1010, 20)),
            (L("tail", None, "glass"), block(side.s * 820, 823, side.s * 876, 1002, 16)),
            (L("tail/lens", None, "glass"), block(side.s * 820, 823, side.s * 876, 880, 16)),
        ],
    )


def wells(b: Body, side: Side) -> None:
    """The dark of the wheel arches, down to the edges of the sheet metal round them."""
    front = disc(0, 395, 450) & (block(-ALL, 560, 0, ALL) | block(0, SILL, ALL, ALL))
    rear = disc(AXLE, 395, 460) & block(0, 545, ALL, ALL)
    b.plate("well", "xz", side.s * 690, [(side.label("well", None, "well"), front), (side.label("well", None, "well"), rear)])


def glass_and_roof(b: Body) -> None:
    """Windshield frame, roof, back of the cab."""
    C = centre(CODE)

    def shield(U: Any, V: Any) -> tuple[Any, Any, Any]:
        z = BELT - 6 + 0.87 * V
        edge = half_width(np.maximum(z, BELT - 6)) - barrel(700)
        y = np.clip(U, -edge, edge)
        return 592 + 0.52 * V + 96 * (1 - V / 1200) * (y / 820) ** 2, y, z

    frame = block(-926, -80, 926, 584)
    glass = shape((-822, 66), (822, 66), (690, 552), (-690, 552), r=70)
    paint = [(C("wsframe"), frame)]
    paint += [
        (Label("wsframe", f"pu.apillar.{q}"), frame & shape((t * 852, -80), (t * 950, -80), (t * 950, 335), (t * 700, 335)))
        for q, t in (("l", 1), ("r", -1))
    ]
    paint += [
        (C("wsframe", "ws.lower"), frame & shape((-850, -80), (850, -80), (836, 66), (-836, 66))),
        (C("wsseal", None, "well"), glass.buffer(15)),
        (C("wsglass", None, "glass"), glass),
    ]
    b.sheet("shield", shield, steps(-926, 926, 24), steps(-80, 592, 24), paint)
    for s in (1, -1):
        path = [shield(np.float64(s * 60 + k * s * 74), np.float64(60 + 10 * k)) for k in range(8)]
        b.sweep("wiper", np.add(path, [-8, 0, 5]), bar(12, 8, 4), C(f"wiper{s}", None, "part"), upright=False)

    def roof(U: Any, V: Any) -> tuple[Any, Any, Any]:
        front, y = 870 + 46 * V**2, 752 * V * (1 - 0.05 * U**14)
        x = (1696 + front) / 2 + (1696 - front) / 2 * U * (1 - 0.04 * V**14)
        return x, y, DRIP - 8 + 100 * np.sqrt(np.maximum(0, (1 - np.abs(V) ** 2.4) * (1 - np.abs(U) ** 2.8)))

    rounds = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 61))
    b.sheet("roof", roof, rounds, rounds, C("roof", "roof"))
    back = shape((-880, 0), (880, 0), (730, 507), (-730, 507))
    pane = shape((-560, 96), (560, 96), (530, 420), (-530, 420), r=60)
    b.sheet(
        "backwall",
        lambda U, V: (CAB_BACK - 0.155 * V, U, BELT + 0.985 * V),
        steps(-880, 880),
        steps(0, 507),
        [
            (C("cabback"), back),
            (C("cabback", "backglass"), pane.buffer(56)),
            (C("backseal", None, "well"), pane.buffer(15)),
            (C("backpane", None, "glass"), pane),
        ],
        blend=True,
    )
    b.plate(
        "backwall",
        "yz",
        CAB_BACK,
        [
            (C("cabback"), block(-892, 440, 892, BELT)),
            *((C(f"cabback/press{k}"), block(q - 230, 700, q + 230, 1090, 40)) for k, q in enumerate((-560, 0, 560))),
        ],
        blend=True,
    )


def bed_middle(b: Body) -> None:
    """Bed floor, front panel, tailgate shut and let down, cross sills."""
    C = centre(CODE)
    for k in range(8):
        y = -866 + k * 216.5
        b.plate(
            "bedfloor",
            "xy",
            BED_FLOOR,
            [(C(f"bedfloor/{k % 2}", "bed.floor"), block(BED + 30, y, TAIL - 42, y + 216.5))],
            blend=True,
        )
    b.plate("bedunder", "xy", BED_FLOOR - 4, [(C("bedunder", "bed.floor"), block(BED + 30, -866, TAIL - 42, 866))])
    b.plate("bedfront", "xy", BED_FLOOR + 2, [(C("bedseam", "bed.front"), block(BED + 34, -866, BED + 110, 866))])
    front = block(-892, BED_FLOOR - 20, 892, RAIL - 4, 16)
    b.prism("bedfront", "yz", front, BED, BED + 34, C("bedfront"))
    for x in (BED - 1, BED + 35):
        b.plate(
            "bedfront",
            "yz",
            x,
            [
                (C("bedfront"), front),
                (C("bedfront", "bed.front"), front & block(-ALL, 0, ALL, 880)),
                *((C(f"bedfront/press{k}"), block(q - 250, 915, q + 250, 1095, 30)) for k, q in enumerate((-560, 0, 560))),
            ],
        )
    gate = block(-786, 640, 786, RAIL - 8, 14)
    b.prism("tailgate", "yz", gate, TAIL - 42, TAIL - 4, C("gate"))
    b.plate(
        "tailgate",
        "yz",
        TAIL - 2,
        [
            (C("gate"), gate),
            (C("gate", "tailgate"), gate & block(-800, 600, 800, 772)),
            (C("gate/press"), block(-690, 812, 690, 1072, 40)),
            (C("latch", None, "part"), block(-80, 1086, 80, 1112, 12)),
        ],
    )
    b.plate(
        "gatedown",
        "xy",
        BED_FLOOR - 30,
        [
            (C("gate"), block(TAIL - 34, -786, TAIL + 446, 786, 14)),
            (C("gate", "tailgate"), block(TAIL - 34, -786, TAIL + 96, 786)),
            (C("gate/inpress"), block(TAIL + 150, -690, TAIL + 400, 690, 40)),
        ],
    )
    for x in (1870, 2200, 2480, 3400, 3660, 3930):
        b.prism("bedcross", "xy", block(x - 36, -862, x + 36, 862), 708, BED_FLOOR - 6, C("bedsill", "bed.sills"))


def build(battery_side: str = "r") -> Body:
    """The whole vehicle; battery_side "l" or "r"."""
    b = Body()
    for side in sides(CODE):
        for draw in (front_clip, cab, bed_side, wells, frame_side, floor_side):
            draw(b, side)
        engine_bay(b, side, battery_side)
    for draw_middle in (glass_and_roof, bed_middle, frame_middle, cab_inside, radiator_support):
        draw_middle(b)
    return b
