"""The coupe's engine bay and front structure: aprons, towers, plenum, firewall, radiator support, battery tray."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, disc, shape, steps
from engine.sides import Side, centre
from engine.solid import Body
from parts.engine import gearbox, hoses, inline_engine, radiator
from shapely.affinity import scale, translate

from bodies.coupe_shape import CODE, LINE, NOSE, crown, wind_x

WALL, PLENUM = 604, 740


def _apron_z(x: Any, share: Any) -> Any:
    """Height of the apron: bulged over the wheel, low before and behind it; share 0 at the rail, 1 at the fender."""
    near = np.clip((396 - np.abs(x)) / 96, 0, 1)
    near = near * near * (3 - 2 * near)
    power = 2.1 - 1.5 * near
    return 500 + (crown(x, 680) - 54 - 500) * share**power


def engine_bay(b: Body, side: Side, battery_side: str) -> None:
    """Apron and tower of one side, battery tray on its side."""
    L, flat = side.label, side.flat
    pocket = scale(disc(0, 0, 108), 1, 300 / 246).buffer(0) & block(-200, -97, 200, 300)
    pocket = translate(pocket, 0, (518 - 438) * 300 / 246)
    b.sheet(
        "apron",
        lambda U, V: (U, side.s * (438 + 246 * V / 300), _apron_z(U, V / 300)),
        steps(-606, WALL, 14),
        steps(0, 300, 10),
        [(L("apron", "apron"), block(-606, 0, WALL, 300) - pocket)],
        blend=True,
    )
    b.plate("apron", "xy", lambda U, V: crown(U, 680) - 52, [(L("apron", "apron"), flat(-606, 680, 560, 716))], blend=True)
    b.plate("apron", "xz", side.s * 438, [(L("apron", "apron"), block(-606, 440, WALL, 500))], blend=True)
    tower = [(470, 112), (756, 106), (778, 98), (786, 84), (786, 56)]
    b.turn("tower", (0, side.s * 518, 0), tower, L("tower", "tower"), n=90, axis="z")
    b.turn("tower", (0, side.s * 518, 0), [(786, 56), (800, 48), (800, 0)], L("tower/cap", "tower"), n=60, axis="z")
    for a in (0.5, 2.6, 4.7):
        bolt = disc(70 * np.cos(a), side.s * (518 + 70 * np.sin(a)), 11)
        b.plate("tower", "xy", 789, [(L("towerbolt", None, "well"), bolt)])
    if battery_side == side.letter:
        C, tray = centre(CODE), flat(-584, 444, -402, 640, 16)
        b.prism("battery", "xy", tray, 704, 716, C("tray", "battery"))
        b.prism("battery", "xy", tray - tray.buffer(-14), 716, 740, C("tray/lip", "battery"))
        b.plate("battery", "xy", 717, [(C("traydrain", None, "well"), disc(-430, side.s * 610, 10))])
        b.prism("battery", "xy", flat(-530, 460, -460, 560), 580, 704, C("trayleg", "battery"))


def front_middle(b: Body) -> None:
    """Firewall, plenum box, dash, engine, gearbox, front crossmember."""
    C = centre(CODE)
    wall = block(-690, 528, 690, 812)
    b.plate(
        "firewall",
        "yz",
        WALL,
        [
            (C("firewall"), wall),
            (C("firewall/heater"), block(-420, 600, -180, 760, 20)),
            (C("grommet", None, "well"), disc(360, 640, 26)),
            (C("grommet2", None, "well"), disc(-90, 700, 18)),
        ],
    )
    y = np.linspace(-676, 676, 60)
    box = shape(*[(PLENUM + 40 * (q / 676) ** 2, q) for q in y], (WALL + 2, 676), (WALL + 2, -676))
    b.prism("plenum", "xy", box, 752, 838, C("plenum", "cowl.plenum"))
    for s in (1, -1):
        b.plate("plenumdrain", "xy", 840, [(C(f"plenumdrain{s}", None, "well"), disc(650, s * 600, 20))])
    b.plate(
        "dash",
        "yz",
        872,
        [
            (C("dashface"), block(-676, 690, 676, 864, 30)),
            (C("dashface/glove"), block(-560, 716, -250, 836, 18)),
            (C("gauge", None, "glass"), disc(432, 786, 62)),
            (C("gauge2", None, "glass"), disc(280, 786, 62)),
            (C("radio", None, "well"), block(-110, 742, 110, 800, 10)),
        ],
    )

    def top(U: Any, V: Any) -> tuple[Any, Any, Any]:
        front = wind_x(np.clip(U, -690, 690), 884 + 0 * U) + 16
        return front + (884 - front) * V / 100, U, 886 - 0.2 * V

    b.sheet(
        "dash",
        top,
        steps(-672, 672, 16),
        [0, 50, 100],
        [(C("dashtop"), block(-672, 0, 672, 100)), (C("dashtop", "ws.inner"), block(-672, 0, 672, 84))],
    )
    inline_engine(b, -420, 190, 300, 640, wide=290)
    gearbox(b, 200, 820, 400)
    radiator(b, -566, 300, 420, 780)
    hoses(b, (-516, -90, 734), (-406, 85, 700), (180, 105, 600), WALL)
    half = [(70, -366), (58, -200), (58, 200), (70, 366)]
    b.prism("frame", "xy", shape(*half, *[(-x, -w) for x, w in half], r=6), 350, 420, C("frontcm"))
    y = np.linspace(-560, 560, 40)
    b.sweep("running", np.c_[-250 - 60 * (y / 560) ** 2, y, 0 * y + 330], bar(22, 22, 10), C("swaybar", None, "part"))


def radiator_support(b: Body) -> None:
    """The upright frame round the radiator, its top bar and the ledge behind the nose."""
    C = centre(CODE)
    frame = block(-676, 352, 676, 772, 24) - block(-312, 420, 312, 740, 30)
    x, y, nx, ny = LINE.along(np.linspace(LINE.nose, -560, 160))
    x, y = x - 14 * nx, y - 14 * ny
    nose = shape(*zip(x, y, strict=True), *zip(x[::-1], -y[::-1], strict=True))
    holes = [(C(f"lampcup{s}", None, "well"), disc(s * 500, 640, 78)) for s in (1, -1)]
    b.prism("radsupport", "yz", block(-676, 352, 676, 420, 10), -626, -596, C("radsupport", "radsupport"))
    b.plate("radsupport", "yz", -628, [(C("radsupport", "radsupport"), frame), *holes])
    b.plate("radsupport", "yz", -606, [(C("radsupport", "radsupport"), frame)])
    b.plate("radsupport", "xy", 786, [(C("radtop", "radsupport"), block(-650, -676, -574, 676, 14))])
    for s in (1, -1):
        b.plate("slam", "xz", s * 330, [(C(f"baffle{s}"), block(-706, 372, -628, 744, 10))])
    b.plate(
        "slam",
        "xy",
        lambda U, V: crown(U, V) - 44,
        [(C("slam"), block(NOSE, -585, -652, 585) & nose), (C("latch", None, "part"), block(-690, -50, -660, 50, 10))],
        step=20,
    )
