"""The open tub ahead of its cowl: hood, nose with grille, flat fenders with lamps, engine bay."""

from __future__ import annotations

from typing import Any

import numpy as np
from engine.shapes import bar, block, disc, shape, soft, steps
from engine.sides import Side, centre
from engine.solid import Body

from bodies.open_tub_shape import (
    ALL,
    CODE,
    FENDER,
    FENDER_ROLL,
    FRONT_ARCH,
    INWARD,
    LINE,
    NOSE,
    ROLL_TO,
    SILL,
    WALL,
    face,
    fender_z,
    hood,
    hood_half,
    hood_v,
)


def hood_half_side(b: Body, side: Side) -> None:
    """Hood lid with its pressing, and the fixed panel between lid and fender."""
    C = centre(CODE)

    def put(U: Any, V: Any) -> tuple[Any, Any, Any]:
        x, y, z = hood(U, V)
        return x, side.s * y, z

    x = np.linspace(NOSE - 1, WALL, 60)
    low = np.where(x < -440, 612, fender_z(x) - 12)
    fixed = shape(*zip(x, hood_v(x, low), strict=True), (WALL, ROLL_TO + 34), (NOSE - 1, ROLL_TO + 34))
    lid = block(NOSE + 34, -1, WALL - 4, ROLL_TO + 34)
    rim = block(NOSE - 1, -1, NOSE + 34, ALL)
    rib = lid & shape((NOSE, -1), (WALL, -1), (WALL, 262), (NOSE, 190))
    paint = [(side.label("hoodside"), fixed), (C("nose"), rim), (C("hood", "hood"), lid), (C("hood/rib", "hood"), rib)]
    u = np.r_[np.linspace(NOSE, NOSE + 44, 16), steps(NOSE + 50, WALL, 25)]
    v = np.r_[steps(0, 470, 40), steps(476, ROLL_TO, 12), steps(ROLL_TO + 8, ROLL_TO + 420, 30)]
    b.sheet("hood", put, u, v, paint, blend=True)


def nose(b: Body) -> None:
    """The face: grille opening with level bars, and the panel below it."""
    C, outline = centre(CODE), face()
    mouth = shape((-318, 700), (318, 700), (352, 960), (-352, 960), r=46)
    bars = [(C("grillebar", None, "soft"), block(-ALL, z, ALL, z + 20) & mouth) for z in range(728, 950, 38)]
    low = outline & block(-ALL, 0, ALL, 672)
    b.plate(
        "nose",
        "yz",
        NOSE,
        [
            (C("nose"), outline),
            (C("nose", "radsupport"), low),
            (C("mouth", None, "well"), mouth),
            *bars,
            (C("mouth/rim", None, "soft"), mouth - mouth.buffer(-12)),
        ],
        blend=True,
    )
    b.plate("nose", "yz", NOSE - 3, [(C("badge", None, "part"), block(-62, 978, 62, 1000, 8))])


def fender(b: Body, side: Side) -> None:
    """A flat fender: its top carried along the profile, its side skin with the rear leg, lamp and blinker on it."""
    L, r, s = side.label, FENDER_ROLL, side.s
    turn = np.linspace(0, np.pi / 2, 9)

    def top(U: Any, V: Any) -> tuple[Any, Any, Any]:
        k = U.astype(int)
        inner = hood_half(LINE[k, 0]) - 18 - 30 * np.clip((-470 - LINE[k, 0]) / 60, 0, 1)
        t = np.clip((V - 400) / r, 0, np.pi / 2)
        y = inner + np.minimum(V, 400) / 400 * (FENDER - r - inner) + r * np.sin(t)
        drop = r * (1 - np.cos(t))
        return LINE[k, 0] + INWARD[k, 0] * drop, s * y, LINE[k, 1] + INWARD[k, 1] * drop

    b.sheet("fender", top, np.arange(len(LINE)), [0, 100, 200, 300, *(400 + r * turn)], L("fender"), blend=True)
    edge = LINE + r * INWARD
    skin = shape(*edge[::-1], (WALL, SILL), (float(edge[-1, 0]), SILL)) - FRONT_ARCH
    leg = skin & shape((300, 400), (WALL, 400), (WALL, 792), (240, 792), (240, 400))
    paint = [(L("fender"), skin), (L("fender", "fender.front"), leg)]
    paint += [(L(f"bracebolt{z}", None, "part"), disc(438, z, 14)) for z in (560, 680)]
    b.plate("fender", "xz", s * FENDER, paint, step=30, blend=True)
    bowl = soft([(-52, 92), (20, 90), (84, 52), (92, 0)], 3)
    kinds = [L("lens", None, "glass"), *[L("bezel", None, "part")] * 3, *[L("bowl", None, "soft")] * (len(bowl) - 1)]
    pod = [(-86, 0), (-86, 74), (-80, 88), (-60, 94), *bowl]
    b.turn("lamp", (-392, s * 628, 994), pod, kinds, n=90, axis="x")
    b.turn("lamp", (-380, s * 628, 0), [(880, 34), (896, 30), (906, 18), (914, 18)], L("stalk", None, "part"), n=40, axis="z")
    b.turn("lamp", (-612, s * 664, 790), [(-12, 0), (-12, 26), (-4, 33), (40, 33)], L("blinker", None, "glass"), n=60, axis="x")


def wells(b: Body, side: Side) -> None:
    """The dark under the fender."""
    edge = LINE + 8 * INWARD
    dark = shape(*edge[::-1], (WALL, 620), (float(edge[-1, 0]), 620)) & block(-540, 0, WALL, ALL)
    b.plate("well", "xz", side.s * 604, [(side.label("well", None, "well"), dark)])


def engine_bay(b: Body, side: Side, battery_side: str) -> None:
    """Apron from the fender down to the rail, radiator support, battery tray on its side."""
    L, s = side.label, side.s

    def sloping(U: Any, V: Any) -> tuple[Any, Any, Any]:
        t = V / 300
        y = (hood_half(U) - 20) * (1 - t) + 424 * t
        return U, s * y, (fender_z(U) - 6) * (1 - t) + 590 * t

    b.sheet("apron", sloping, steps(-480, WALL, 40), steps(0, 300, 30), [(L("apron", "apron"), block(-480, 0, WALL, 300))])
    if battery_side == side.letter:
        C, tray = centre(CODE), side.flat(222, 305, 452, 488, 16)
        b.prism("battery", "xy", tray, 786, 798, C("tray", "battery"))
        b.prism("battery", "xy", tray - tray.buffer(-15), 798, 828, C("traylip", "battery"))
        b.plate("battery", "xy", 799, [(C("traydrain", None, "well"), disc(418, s * 340, 13))])
        b.prism("battery", "xz", block(300, 640, 370, 786), s * 400, s * 420, C("trayleg", "battery"))


def radiator_support(b: Body) -> None:
    """The upright frame round the radiator and its top bar."""
    C, frame = centre(CODE), block(-405, 612, 405, 980, 26) - block(-330, 670, 330, 940, 26)
    b.prism("radsupport", "yz", frame, -520, -506, C("radsupport", "radsupport"))
    b.plate("radsupport", "xy", 984, [(C("radtop", "radsupport"), block(-540, -408, -470, 408, 14))])


def front_bumper(b: Body) -> None:
    """A straight channel on the frame horns, with two tow loops."""
    C = centre(CODE)
    b.sweep("bumper", [(-738, y, 548) for y in np.linspace(-690, 690, 12)], bar(34, 118, 10), C("bumper", None, "soft"))
    for y in (-430, 430):
        b.prism("bumper", "xz", disc(-770, 560, 34) - disc(-770, 560, 18), y - 11, y + 11, C(f"loop{y}", None, "part"))
