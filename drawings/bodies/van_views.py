"""The views of the van."""

from __future__ import annotations

from engine.plain import Plain
from engine.shapes import Floats
from views import ABOVE, BELOW, FRONT, INTO_CAB, LEFT, REAR, RIGHT, THREE_QUARTER, Crop, ViewOf, halves, one_side, sides

NOT = ("cutout", "cut", "ply", "deckunder", "toe", "hem")
LOW = ("frame", "outrigger", "spare", "heater", "jack", "tophat", "archhouse", "sillunder", "step", "slidestep")
SKIN = ("skin", "cabdoor", "slide", "track", "gate", "lid", "roof", "gutter", "well", "wiper")
CABIN = ("steer", "pedal", "lever", "feet", "dash")
RUNNING = ("running", "wheel", "drum", "exhaust", "engine")
TRIM = ("bumper", "plate")
BELOW_NOT = ("cutout", "cut", "ply", "toe", "plate", "postin", *SKIN, *CABIN)
LOWER = (-9999.0, 9999.0, -9999.0, 9999.0, 0.0, 714.0)


OUTSIDE = (
    ("cab", "cab step, posts and arch", (-1040, 180, 660, 900)),
    ("middle", "sill and side panel", (340, 180, 2140, 900)),
    ("tail", "rear arch and corner", (1960, 180, 3440, 900)),
    ("top", "gutter, seam and windows", (1100, 940, 2700, 1800)),
)
BARE = (("sill", "sill, middle layer and post", (340, 180, 2140, 900)),)
INSIDE = (("post", "post and anchor plates", (200, 240, 1200, 1100)),)


# nose and tail from the side: panels seen on edge are drawn as what they lie in
ON_EDGE = (
    Plain(("lamp.@*",), "bezel.@"),
    Plain(("parkrim.@", "parklens.@", "body/face*", "body/scuttle", "vent*"), "body"),
    Plain(("wsseal",), "wsglass"),
    Plain(("lamps.@*",), "lampseal.@"),
    Plain(("gate*", "lid*"), "body", (2000.0, 0.0, 9999.0, 9999.0)),
    Plain(("body",), "body", (3200.0, 860.0, 9999.0, 9999.0)),
)
# from above, gasket and surround of the side windows are thinner than a line, and so are the slots of the fresh-air grille
FROM_ABOVE = (
    *(Plain((f"sealw{k}.{q}",), f"glassw{k}.{q}") for k in range(3) for q in ("l", "r")),
    *(Plain((f"doorseal.{q}",), f"doorglass.{q}") for q in ("l", "r")),
    Plain(("body/w*",), "body"),
    Plain(("slide/w*",), "slide"),
    Plain(("vent*",), "body/scuttle"),
    Plain(("body",), "body", (3150.0, -900.0, 9999.0, 900.0)),
)


# the sides from the front
END_ON = (Plain(("door.*", "doorseal.*", "doorglass.*", "handle.*", "lock.*", "body/w*", "slide*", "sealw*", "glassw*"), "body"),)

DOORS_END_ON = (Plain(("door.*", "doorseal.*", "doorglass.*", "handle.*", "lock.*", "body/w*"), "body"),)


def _side(name: str, title: str, axes: Floats, turn: bool) -> ViewOf:
    plain = one_side("r" if turn else "l", *ON_EDGE)
    return ViewOf(name, title, axes, unit=0.5, without=(*NOT, "wiper", "plate"), plain=plain, crops=sides(*OUTSIDE, turn=turn))


def _bare(name: str, title: str, axes: Floats, turn: bool) -> ViewOf:
    return ViewOf(
        name,
        title,
        axes,
        without=(
            *NOT,
            *SKIN,
            *CABIN,
            *RUNNING,
            *TRIM,
            "anchor",
            "sillunder",
            "step",
            "slidestep",
            "battery",
            "lip",
            "airbox",
            "firewall",
            "ledge",
        ),
        crops=sides(*BARE, turn=turn),
    )


def _section(name: str, title: str, axes: Floats, turn: bool) -> ViewOf:
    keep = (2.0, 9999.0) if name.endswith("l") else (-9999.0, -2.0)
    left_out = (
        "cutout",
        "ply",
        "deckunder",
        "hem",
        "step",
        "slidestep",
        "ledge",
        "floor",
        "frame",
        "tophat",
        "outrigger",
        "heater",
        "spare",
        "battery",
        "well",
        "wiper",
    )
    return ViewOf(
        name,
        title,
        axes,
        without=(*left_out, *RUNNING, *CABIN, *TRIM, "sillmid", "sillunder", "sillledge", "jack"),
        clip=(-9999, 9999, *keep, 0, 9999),
        crops=sides(*INSIDE, turn=turn),
    )


VIEWS = (
    _side("left", "Left side", LEFT, False),
    _side("right", "Right side", RIGHT, True),
    ViewOf(
        "plan",
        "From above",
        ABOVE,
        unit=0.5,
        without=(*NOT, "plate", "wiper", "track"),
        plain=FROM_ABOVE,
        portrait=True,
    ),
    ViewOf("front", "Front", FRONT, unit=0.5, without=(*NOT, *LOW, "floor", "lip", "airbox"), plain=END_ON, px_wide=480),
    ViewOf("rear", "Rear", REAR, unit=0.5, without=(*NOT, *LOW), px_wide=480),
    ViewOf(
        "rear-open",
        "Rear, tailgate and engine lid open",
        REAR,
        unit=0.5,
        without=(*NOT, *LOW, "gate", "lid", "plate", "lip", "airbox", "anchor", "postin", "ledge", "battery", "wiper"),
        px_wide=480,
    ),
    ViewOf(
        "floor",
        "Floor, seats and skin off",
        ABOVE,
        unit=0.5,
        only=("floor", "sillledge", "step", "slidestep", "feet", "archhouse", "anchor"),
        without=("floorunder",),
        clip=(-9999, 2558, -9999, 9999, 0, 720),
        crops=halves(("cab", "cab floor and step", (-1000, -850, 500, -50))),
        portrait=True,
    ),
    ViewOf(
        "forward",
        "Inside, looking forward and down",
        INTO_CAB,
        unit=0.5,
        without=(
            "cutout",
            "cut",
            "ply",
            "hem",
            "roof",
            "gutter",
            "airbox",
            "postin",
            "floorunder",
            "frame",
            "spare",
            "heater",
            "tophat",
            "outrigger",
            "wiper",
            *RUNNING,
            *TRIM,
            "well",
        ),
        plain=(*DOORS_END_ON, *(Plain(("body",), "body", (x, 955.0, x + 168.0, 1405.0)) for x in (-890.0, 722.0))),
        clip=(-9999, 422, -826, 826, 420, 1690),
        bounds=(-890, 150, 890, 1830),
        crops=(
            Crop("lip-l", "inner windshield lip, left end", (-790, 1180, 10, 1620)),
            Crop("lip-r", "inner windshield lip, right end", (-10, 1180, 790, 1620)),
        ),
        px_wide=480,
    ),
    ViewOf(
        "load",
        "Load space from above, floor board down",
        ABOVE,
        unit=0.5,
        only=("floor", "ply", "sillledge", "slidestep", "archhouse", "anchor", "deck"),
        without=("floorunder", "deckunder"),
        clip=(420, 9999, -9999, 9999, 0, 900),
        bounds=(390, -860, 3370, 860),
        portrait=True,
        px_wide=640,
    ),
    ViewOf(
        "platform",
        "Platform from above, floor and skin off",
        ABOVE,
        without=(
            *NOT,
            *SKIN,
            *CABIN,
            *RUNNING,
            *TRIM,
            "floor",
            "deck",
            "anchor",
            "dash",
            "lip",
            "airbox",
            "slidestep",
            "sillledge",
            "postin",
        ),
        portrait=True,
    ),
    ViewOf("below", "From below", BELOW, without=(*BELOW_NOT, "anchor"), clip=LOWER, portrait=True),
    ViewOf(
        "underbody",
        "From below, running gear off",
        BELOW,
        without=(*BELOW_NOT, *RUNNING, "anchor"),
        clip=LOWER,
        portrait=True,
        crops=halves(
            ("cab", "front leg, step and wheel house", (-1000, 50, 500, 850)),
            ("middle", "outriggers and sill", (400, 50, 2200, 850)),
        ),
    ),
    ViewOf(
        "bay",
        "Engine bay from above, deck off",
        ABOVE,
        unit=0.5,
        only=("ledge", "battery", "firewall", "engine", "skin", "archhouse", "frame", "exhaust"),
        clip=(2400, 9999, -9999, 9999, 0, 870),
        bounds=(2500, -880, 3440, 880),
        plain=(Plain(("body*",), "body"),),  # the skin is seen on edge
        px_wide=480,
    ),
    _bare("bare-l", "Left side, skin off", LEFT, False),
    _bare("bare-r", "Right side, skin off", RIGHT, True),
    _section("section-l", "Cut at the middle: left half from inside", RIGHT, True),
    _section("section-r", "Cut at the middle: right half from inside", LEFT, False),
    ViewOf(
        "roofcut",
        "Roof cut open for a raised roof",
        ABOVE,
        unit=0.5,
        only=("roof", "cutout", "gutter"),
        portrait=True,
        px_wide=640,
    ),
    ViewOf(
        "three-quarter",
        "Three-quarter",
        THREE_QUARTER,
        without=(*NOT, "running", "exhaust", "frame", "outrigger", "tophat", "step", "spare"),
    ),
)
STANDS = {
    "mv.nose.low": (-2000, 350),
    "mv.screen.low": (-1700, 450),
    "mv.scuttle": (-1500, 350),
    "mv.floor": (1000, -1500),
    "mv.roof": (1300, 1650),
    "mv.roofcut": (1300, 1500),
    "mv.valance.r": (4000, 350),
    "mv.tailgate": (4000, 450),
    "mv.tailframe": (4000, 450),
    "mv.enginebay": (4000, 300),
    "mv.battery": (3900, -650),
    "mv.slide.low": (1000, -1450),
    "mv.slide.step": (1000, -1450),
    "mv.slide.track": (1800, -1400),
}
