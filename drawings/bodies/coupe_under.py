"""The coupe's unit body from below: rails, torque boxes, sills, spring mounts, posts; wheels, axle, springs."""

from __future__ import annotations

import numpy as np
from engine.shapes import bar, block, curve, disc, shape, steps
from engine.sides import Side, centre
from engine.solid import Body
from parts.axles import drive_shaft, live_axle
from parts.ladder import Rails
from parts.springs import leaf_spring
from parts.wheels import wheel

from bodies.coupe_shape import AXLE, CODE, DOOR, FLOOR, LOCK, RADIUS, SILL, STEP, side_y

SILL_IN, STIFFENER, SILL_END = 652, 716, 2200
front_rails = Rails(
    -676,
    840,
    y=curve([-676, 380, 840], [396, 400, 470]),
    z=curve([-676, 260, 540, 690, 780, 840], [450, 446, 374, 262, 232, 231]),
    height=curve([-676, 300, 600, 780, 840], [100, 108, 90, 50, 46]),
    wide=74,
)
rear_rails = Rails(
    2040,
    3490,
    y=curve([2040, 2250, 3490], [520, 462, 462]),
    z=curve([2040, 2110, 2260, 2370, 2480, 2640, 3490], [231, 236, 286, 296, 370, 380, 376]),
    height=curve([2040, 2120, 2400, 3490], [46, 56, 90, 84]),
    wide=70,
)


def structure_side(b: Body, side: Side) -> None:
    """Rails, torque boxes, sill in its three layers, posts, spring mounts."""
    L = side.label
    front_rails.draw(b, side, [(-676, 840, L("frontrail", "rail.front"))])
    rear_rails.draw(b, side, [(2040, 3490, L("rearrail", "rail.rear"))])
    front = shape(*side.points((610, 438), (760, 480), (850, 520), (850, SILL_IN), (640, SILL_IN), (610, 560)), r=14)
    b.prism("torque", "xy", front, 204, FLOOR - 7, L("torquefront", "torque.front"))
    rear = shape(*side.points((1966, 480), (2196, 450), (2196, 640), (2170, SILL_IN), (1966, SILL_IN)), r=14)
    b.prism("torque", "xy", rear, 204, FLOOR - 7, L("torquerear", "torque.rear"))
    _sill(b, side)
    _posts(b, side)
    for x0, x1, z in ((2118, 2236, 262), (2996, 3104, 348)):
        eye = shape((x0, z + 84), (x1, z + 84), (x1 - 24, z - 20), (x0 + 24, z - 20), r=12)
        b.prism("mount", "xz", eye, side.s * 495, side.s * 551, L(f"springmount{x0}", "spring.rear"))
        b.turn(
            "mount",
            ((x0 + x1) / 2, side.s * 491, z + 16),
            [(0, 0), (0, 15), (side.s * 66, 15), (side.s * 66, 0)],
            L(f"springmount{x0}", "spring.rear"),
            n=40,
        )


def _sill(b: Body, side: Side) -> None:
    """Inner skin with its top ledge, the stiffener inside the box, the outer skin's step and underside."""
    L = side.label
    box = block(DOOR, SILL + 3, SILL_END, STEP)
    b.plate("sillin", "xz", side.s * SILL_IN, [(L("sillin", "sill.inner"), box)])
    b.plate("sillin", "xy", STEP + 2, [(L("sillin", "sill.inner"), side.flat(DOOR, SILL_IN, SILL_END, STIFFENER - 4))])
    holes = [disc(x, 268, 22) for x in np.linspace(860, 2040, 6)]
    b.plate(
        "sillmem",
        "xz",
        side.s * STIFFENER,
        [
            (L("sillmem", "sill.mem"), box),
            (L("sillmem/lip", "sill.mem"), block(DOOR, SILL + 8, SILL_END, SILL + 28)),
            *((L(f"hole{k}", None, "well"), hole) for k, hole in enumerate(holes)),
        ],
    )
    for part, z, label in (("sillstep", STEP - 2, L("sill", "sill.outer")), ("sillunder", SILL + 4, None)):
        inner = STIFFENER - 4 if label else SILL_IN - 2
        paint = label or [
            (L("sillunder", "sill.inner"), block(DOOR, 0, SILL_END, 42)),
            (L("sillunder", "sill.outer"), block(DOOR, 42, SILL_END, 101)),
        ]
        b.sheet(
            part,
            lambda U, V, z=z, inner=inner: (U, side.s * (inner + (side_y(U, z + 0 * U) - inner) * V / 100), z + 0 * U),
            steps(DOOR, SILL_END, 30),
            [0, 100],
            paint,
        )
    for x in (800, 2060):
        b.turn(
            "jack",
            (x, side.s * 690, 0),
            [(SILL - 20, 20), (SILL - 20, 44), (SILL + 8, 50)],
            L(f"jackfoot{x}", "jack"),
            n=50,
            axis="z",
        )
        b.plate("jack", "xz", side.s * 781, [(L(f"jacksocket{x}", "jack"), disc(x, SILL + 44, 28))])
        b.plate("jack", "xz", side.s * 783, [(L(f"jacksocket{x}/pin", "jack"), disc(x, SILL + 44, 15))])
        b.plate("jack", "xy", SILL - 18, [(L(f"jackhole{x}", None, "well"), disc(x, side.s * 690, 20))])


def _posts(b: Body, side: Side) -> None:
    """The front post with its hinge box behind the fender, the rear post's foot."""
    L = side.label
    hinge = shape((562, SILL + 8), (640, SILL + 8), (640, 860), (562, 860), r=10)
    b.prism("apost", "xz", hinge, side.s * 664, side.s * 742, L("apost", "apost"))
    for z in (440, 700):
        b.plate("apost", "xz", side.s * 744, [(L(f"hinge{z}", None, "part"), block(590, z, 632, z + 84, 8))])
    kick = shape((640, 330), (860, 330), (820, 640), (640, 640), r=20)
    b.plate("kick", "xz", side.s * 656, [(L("kick"), kick), (L("kick", "apost"), block(650, 380, 766, 590, 24))])
    post = shape((LOCK + 8, STEP), (2010, STEP), (1960, 560), (1910, 870), (LOCK + 8, 870), r=8)
    b.plate("postin", "xz", side.s * 716, [(L("bpostin"), post), (L("bpostin", "bpost"), post & block(0, 0, 9999, 560))])


def running_side(b: Body, side: Side) -> None:
    """Wheels, springs and the lower arm of one side."""
    L = side.label
    for x, y in ((0, 690), (AXLE, 684)):
        wheel(b, side, x, y, radius=RADIUS, wide=160, rim=178, cap=92)
    leaf_spring(b, side, "rear", 2178, 3052, 523, 232, rise=40, leaves=4, wide=54)
    link = shape((3026, 258), (3074, 258), (3074, 350), (3026, 350), r=16)
    b.prism("running", "xz", link, side.s * 500, side.s * 546, L("shackle", None, "part"))
    arm = shape(*side.points((-34, 300), (34, 300), (30, 610), (-30, 610)), r=10)
    b.prism("running", "xy", arm, 232, 268, L("arm", None, "part"))
    b.sweep(
        "running",
        np.linspace([-20, side.s * 590, 244], [-360, side.s * 420, 340], 8),
        bar(30, 30, 12),
        L("strut", None, "part"),
        upright=False,
    )
    b.turn("running", (0, side.s * 600, 210), [(0, 0), (0, 34), (70, 30), (70, 0)], L("joint", None, "part"), n=40, axis="z")


def running_middle(b: Body) -> None:
    """Axle, shaft, exhaust."""
    C = centre(CODE)
    live_axle(b, AXLE, RADIUS, 610)
    drive_shaft(b, 820, AXLE - 172, 0, 385, RADIUS)
    x = np.array([-250, 200, 500, 700, 1400, 1700])
    pipe = np.c_[x, [-190, -210, -230, -240, -250, -260], [330, 300, 265, 235, 228, 228]]
    q = np.linspace(0, 2 * np.pi, 17)[:-1]
    ring = np.c_[24 * np.cos(q), 24 * np.sin(q)]
    t = np.linspace(-250, 1720, 60)
    b.sweep("exhaust", np.c_[t, *(np.interp(t, x, pipe[:, k]) for k in (1, 2))], ring, C("pipe", None, "part"), upright=False)
    b.prism("exhaust", "xy", block(1660, -350, 2080, -170, 70), 190, FLOOR - 10, C("silencer", None, "part"))
