"""The views of the roadster and the crops of its crowded places."""

from __future__ import annotations

from engine.plain import Plain
from views import ABOVE, BELOW, FRONT, INTO_CAB, LEFT, REAR, RIGHT, THREE_QUARTER, Crop, ViewOf, halves, one_side, sides

NOT = ("openlid", "shade", "gutter", "cut", "houseseam")
OUTER = ("fender", "lamp", "bead", "door", "outer", "rear", "lining", "sillstep")
BODY = (
    *OUTER,
    "enginehose",
    "hood",
    "nose",
    "scuttle",
    "deck",
    "lid",
    "tail",
    "shield",
    "wiper",
    "well",
    "shade",
    "gutter",
    "sill",
    "mem",
    "post",
    "floor",
    "kick",
    "apron",
    "seat",
    "house",
    "tunnel",
    "battery",
    "firewall",
    "shelf",
    "ventbox",
    "dash",
    "steer",
    "pedal",
    "lever",
    "bulkback",
    "bulge",
    "openlid",
    "cut",
    "tank",
    "boot",
    "spare",
    "plate",
)
SKIN = (
    *OUTER,
    "hood",
    "bulge",
    "nose",
    "deck",
    "lid",
    "tail",
    "wiper",
    "well",
    "seat",
    "steer",
    "lever",
    "pedal",
    "openlid",
    "shade",
    "gutter",
    "cut",
    "sillunder",
)
TURNING = ("wheel", "drum", "running", "engine", "bumper", "iron", "plate")
CUT = (
    *TURNING,
    *NOT[:3],
    "houseseam",
    "lamp",
    "bulge",
    "frame",
    "seat",
    "steer",
    "pedal",
    "lever",
    "well",
    "tunnel",
    "wiper",
    "lining",
    "mem",
)
INSIDE = ("floor", "kick", "sill", "post", "tunnel", "battery", "firewall", "bulkback")

SILL_BOX, FOOT_BOX, FRONT_BOX = (600, 140, 1560, 480), (560, 640, 960, 1000), (-700, 140, 720, 880)
REAR_BOX, POST_BOX = (1400, 140, 3080, 880), (420, 150, 900, 800)


def _side(turn: bool) -> tuple[Crop, ...]:
    places = (
        ("sill", "sill and door foot", SILL_BOX),
        ("foot", "windshield foot", FOOT_BOX),
        ("nose", "front fender", FRONT_BOX),
        ("tail", "rear fender", REAR_BOX),
    )
    return sides(*places, turn=turn)


def _bare(turn: bool) -> tuple[Crop, ...]:
    places = (("sill", "sill from outside, skin off", (400, 140, 1820, 800)), ("post", "hinge post", POST_BOX))
    return sides(*places, turn=turn)


def _cut(turn: bool) -> tuple[Crop, ...]:
    places = (("cabin", "cabin", (-1960, 150, -540, 900)), ("trunk", "trunk", (-3080, 200, -1640, 860)))
    return sides(*places, turn=turn)


SIDE_NOT = (*NOT, "bulge", "bead", "wiper", "plate")
# from the side: the hood behind the crest of the fender is one with the nose, the wiper slots are thinner than a line
ON_EDGE = (
    Plain(("nose", "hood*", "mouth*", "slat", "valance"), "nose"),
    Plain(("valance.r",), "deck"),
    Plain(("lid",), "lid"),
    Plain(("parklens.@",), "park.@"),
    Plain(("fender.@",), "fender.@", (-9999.0, 300.0, -560.0, 500.0)),
    Plain(("vent*",), "scuttle"),
)

VIEWS = (
    ViewOf("left", "Left side", LEFT, unit=0.5, without=SIDE_NOT, plain=one_side("l", *ON_EDGE), crops=_side(False)),
    ViewOf("right", "Right side", RIGHT, unit=0.5, without=SIDE_NOT, plain=one_side("r", *ON_EDGE), crops=_side(True)),
    ViewOf(
        "plan",
        "From above, soft top down",
        ABOVE,
        unit=0.5,
        without=(*NOT, "plate"),
        portrait=True,
        crops=halves(("scuttle", "scuttle", (500, 0, 1000, 720))),
    ),
    ViewOf("front", "Front", FRONT, unit=0.5, without=NOT, px_wide=480),
    ViewOf("rear", "Rear", REAR, unit=0.5, without=NOT, px_wide=480),
    ViewOf(
        "rear-open",
        "Trunk open, from behind",
        INTO_CAB,
        unit=0.5,
        without=("lid", "shade", "cut", "houseseam"),
        clip=(1560, 9999, -9999, 9999, 0, 9999),
        bounds=(-800, -1190, 800, 320),
        px_wide=480,
    ),
    ViewOf("bare-l", "Left side, outer panels off", LEFT, without=(*SKIN, *TURNING), crops=_bare(False)),
    ViewOf("bare-r", "Right side, outer panels off", RIGHT, without=(*SKIN, *TURNING), crops=_bare(True)),
    ViewOf(
        "floor",
        "Floor, skin and seats off",
        ABOVE,
        unit=0.5,
        only=(*INSIDE, "outer", "house"),
        without=("floorunder", "sillunder", "tunnelunder", "houseseam"),
        bounds=(380, -800, 1960, 800),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "forward",
        "Inside, looking forward and down",
        INTO_CAB,
        unit=0.5,
        only=(*INSIDE, "dash", "steer", "pedal", "lever", "scuttle", "door", "outer", "lining", "shield", "fender", "bead"),
        without=("floorunder", "sillunder", "bulkback", "sillend"),
        clip=(560, 1440, -9999, 9999, 0, 9999),
        bounds=(-800, -530, 800, 670),
        px_wide=480,
    ),
    ViewOf("frame", "Chassis from above, body off", ABOVE, without=BODY, portrait=True),
    ViewOf(
        "boxes",
        "Chassis boxes under the cabin, lids off",
        ABOVE,
        unit=0.5,
        only=("frame",),
        without=("frametop",),
        bounds=(260, -690, 1630, 690),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "below",
        "From below",
        BELOW,
        without=(
            "openlid",
            "gutter",
            "cut",
            "houseseam",
            "lamp",
            "plate",
            "hood",
            "bulge",
            "scuttle",
            "deck",
            "lid",
            "enginehose",
        ),
        portrait=True,
        crops=halves(("middle", "middle from below", (360, 0, 1860, 760))),
    ),
    ViewOf(
        "underbody",
        "Body from below, chassis off",
        BELOW,
        only=("floorunder", "sillunder", "sillend", "boot", "spare", "house", "battery", "outer", "tunnel", "mem"),
        without=("bootfloor", "houseseam"),
        portrait=True,
    ),
    ViewOf(
        "bay",
        "Engine bay, hood and fenders off",
        ABOVE,
        unit=0.5,
        without=(*NOT, "hood", "bulge", "nose", "fender", "lamp", "bead", "bumper", "iron", "plate"),
        bounds=(-720, -800, 900, 800),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "trunk",
        "Trunk from above, lid off",
        ABOVE,
        unit=0.5,
        without=(*NOT, "lid", "bumper", "iron", "plate"),
        bounds=(1380, -800, 3140, 800),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "section-l",
        "Cut at the middle: left half from inside",
        RIGHT,
        without=CUT,
        clip=(-9999, 9999, 2, 9999, 0, 9999),
        px_wide=860,
        crops=_cut(False),
    ),
    ViewOf(
        "section-r",
        "Cut at the middle: right half from inside",
        LEFT,
        without=CUT,
        clip=(-9999, 9999, -9999, -2, 0, 9999),
        px_wide=860,
        crops=_cut(True),
    ),
    ViewOf("three-quarter", "Three-quarter", THREE_QUARTER, without=NOT),
)
STANDS = {"sr.scuttle": (620, 1300), "sr.screenframe": (480, 1300)}
