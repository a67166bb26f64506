"""The views of the coupe and the crops of its crowded places."""

from __future__ import annotations

from engine.plain import Plain
from engine.shapes import Floats
from views import ABOVE, BELOW, FRONT, INTO_CAB, LEFT, REAR, RIGHT, THREE_QUARTER, Crop, ViewOf, halves, one_side, sides

NOT = ("sunroof", "plenumdrain", "cut")
SKIN = (
    "fender",
    "hood",
    "cowl",
    "door",
    "sillskin",
    "sillstep",
    "quarter",
    "ledge",
    "deckpanel",
    "lid",
    "house",
    "driprail",
    "roof",
    "wiper",
    "well",
)
CABIN = ("steer", "pedal", "lever", "feet", "dash")
RUNNING = ("running", "wheel", "drum", "exhaust", "engine")
TRIM = ("bumper", "plate")


OUTSIDE = (
    ("sill", "sill and posts", (340, 150, 2250, 900)),
    ("roof-edge", "drip rail", (1060, 1130, 2420, 1400)),
    ("tail", "rear arch and quarter", (2080, 150, 3620, 900)),
)
BARE = (("sill", "sill stiffener and post", (560, 150, 2220, 900)),)
INSIDE = (("sill", "sill and post from inside", (480, 150, 2280, 920)),)


# the nose, the windshield, the rear glass and the tail from the side: panels seen on edge are drawn as what they lie in
ON_EDGE = (
    Plain(("lamp.@*",), "bezel.@", (-9999.0, 0.0, 0.0, 9999.0)),
    Plain(("parkrim.@", "parklens.@", "mouth", "bars"), "fender"),
    Plain(("fender.@/bowl",), "fender"),
    Plain(("wsseal",), "wsglass"),
    Plain(("rgseal",), "rgglass"),
    Plain(("wsframe", "rgframe"), "house.@"),
    Plain(("vent*", "cowl/grille"), "cowl"),
    Plain(("lid",), "lid"),
    Plain(("lamp.@*",), "lampseal.@", (2000.0, 0.0, 9999.0, 9999.0)),
    Plain(("tailface", "tailface/valance"), "quarter.@", (2000.0, 0.0, 9999.0, 9999.0)),
)


def _side(name: str, title: str, axes: Floats, turn: bool) -> ViewOf:
    plain = one_side("r" if turn else "l", *ON_EDGE)
    return ViewOf(
        name, title, axes, unit=0.5, without=(*NOT, "wiper", "engine", "plate"), plain=plain, crops=sides(*OUTSIDE, turn=turn)
    )


def _bare(name: str, title: str, axes: Floats, turn: bool) -> ViewOf:
    return ViewOf(
        name,
        title,
        axes,
        without=(*NOT, *SKIN, *CABIN, *RUNNING, *TRIM, "sillunder", "slam", "tank", "shelf", "seatback"),
        crops=sides(*BARE, turn=turn),
    )


def _section(name: str, title: str, axes: Floats, turn: bool) -> ViewOf:
    keep = (2.0, 9999.0) if name.endswith("l") else (-9999.0, -2.0)
    return ViewOf(
        name,
        title,
        axes,
        without=("sunroof", "plenumdrain", "tunnel", "floor", "seatcm", "wiper", *RUNNING, *CABIN, *TRIM, "tank", "well"),
        clip=(-9999, 9999, *keep, 0, 9999),
        crops=sides(*INSIDE, turn=turn),
    )


VIEWS = (
    _side("left", "Left side", LEFT, False),
    _side("right", "Right side", RIGHT, True),
    ViewOf("plan", "From above", ABOVE, unit=0.5, without=(*NOT, "plate", "wiper"), portrait=True),
    ViewOf("front", "Front", FRONT, unit=0.5, without=(*NOT, "floor", "tunnel"), px_wide=480),
    ViewOf("rear", "Rear", REAR, unit=0.5, without=(*NOT, "floor", "tunnel", "deckpanel"), px_wide=480),
    ViewOf(
        "rear-open",
        "Rear, trunk open",
        INTO_CAB,
        unit=0.5,
        only=("quarter", "ledge", "house", "floor", "drop", "archhouse", "spare", "shelf", "seatback", "bumper", "deckpanel"),
        without=("floorunder", "dropunder"),
        clip=(2300, 9999, -9999, 9999, 0, 9999),
        bounds=(-870, -1440, 870, 250),
        px_wide=480,
    ),
    ViewOf(
        "floor",
        "Floor, seats and skin off",
        ABOVE,
        unit=0.5,
        only=("floor", "seatcm", "sillin", "sillstep", "feet", "archhouse", "apost", "kick", "tunnel"),
        without=("floorunder", "tunnelunder"),
        clip=(530, 2466, -9999, 9999, 0, 700),
        bounds=(500, -830, 2500, 830),
        crops=halves(("toe", "toe board", (530, -830, 1330, -130))),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "forward",
        "Inside, looking forward and down",
        INTO_CAB,
        unit=0.5,
        only=(
            "floor",
            "tunnel",
            "seatcm",
            "sillin",
            "sillstep",
            "kick",
            "firewall",
            "plenum",
            "dash",
            "steer",
            "pedal",
            "lever",
            "house",
        ),
        without=(*NOT, "floorunder", "tunnelunder"),
        bounds=(-760, -460, 760, 860),
        clip=(0, 1400, -730, 730, 0, 9999),
        crops=(Crop("dash", "dash top", (-660, 350, 660, 900)),),
        px_wide=480,
    ),
    ViewOf(
        "platform",
        "Unit body from above, skin off",
        ABOVE,
        without=("sunroof", "cut", *SKIN, *RUNNING, *CABIN, *TRIM, "slam"),
        portrait=True,
    ),
    ViewOf("below", "From below", BELOW, without=(*NOT, *CABIN, "plate", "enginehose"), portrait=True),
    ViewOf(
        "underbody",
        "From below, running gear off",
        BELOW,
        without=(*NOT, *CABIN, "plate", *RUNNING),
        portrait=True,
        crops=halves(
            ("joint-front", "joint of front rail and sill", (480, 330, 1280, 830)),
            ("joint-rear", "joint of sill and rear rail", (1880, 330, 2880, 830)),
        ),
    ),
    ViewOf(
        "bay",
        "Engine bay, hood off",
        ABOVE,
        unit=0.5,
        without=(*NOT, "hood", "bumper", "plate"),
        bounds=(-860, -850, 740, 850),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "trunk",
        "Trunk, lid, deck and shelf off",
        ABOVE,
        unit=0.5,
        only=("quarter", "floor", "drop", "archhouse", "spare", "seatback"),
        without=("floorunder", "dropunder"),
        clip=(2300, 9999, -9999, 9999, 0, 9999),
        bounds=(2260, -850, 3600, 850),
        portrait=True,
        px_wide=480,
    ),
    _bare("bare-l", "Left side, skin off", LEFT, False),
    _bare("bare-r", "Right side, skin off", RIGHT, True),
    _section("section-l", "Cut at the middle: left half from inside", RIGHT, True),
    _section("section-r", "Cut at the middle: right half from inside", LEFT, False),
    ViewOf(
        "sunroof",
        "Roof with the sunroof open",
        ABOVE,
        unit=0.5,
        only=("roof", "sunroof", "driprail"),
        portrait=True,
        px_wide=480,
    ),
    ViewOf("three-quarter", "Three-quarter", THREE_QUARTER, without=NOT),
)
STANDS = {
    "mc.cowl.plenum": (620, 1350),
    "mc.cowl.wiper": (620, 1350),
    "mc.radsupport": (-1500, 350),
    "mc.ws.lower": (500, 1350),
    "mc.roof": (1700, 1600),
    "mc.rg.channel": (3100, 1350),
    "mc.shelf": (4150, 300),
    "mc.trunk.floor": (4150, 350),
    "mc.trunk.drop": (4100, 620),
    "mc.spare": (4150, 350),
    "mc.trunklid": (4150, 350),
    "mc.tailpanel": (4300, 500),
    "mc.tank": (4150, 450),
}
