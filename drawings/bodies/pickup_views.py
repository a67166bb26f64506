"""The views of the pickup and the crops of its crowded places."""

from __future__ import annotations

from engine.plain import Plain
from views import ABOVE, BELOW, FRONT, INTO_CAB, LEFT, REAR, RIGHT, THREE_QUARTER, Crop, ViewOf, halves, one_side, sides

INSIDE = ("floor", "rocker", "pocket", "tank", "brace", "firewall", "dash", "steer", "pedal", "lever", "feet")
SHEET_METAL = (
    "fender",
    "hood",
    "cowl",
    "cabskin",
    "door",
    "mirror",
    "shield",
    "wiper",
    "roof",
    "backwall",
    "driprail",
    "slam",
    "bed",
    "wheelhouse",
    "tailgate",
    "gatedown",
    "well",
)
BAY = ("apron", "battery", "radsupport", "engine", "rubber")
NOT = ("gatedown",)

CAB_FOOT, PILLAR, SHACKLE = (380, 380, 1800, 1000), (500, 1000, 1150, 1560), (2150, 380, 3760, 760)
ROOF_EDGE = (850, 1560, 1790, 1830)


def _side_crops(turn: bool) -> tuple[Crop, ...]:
    places = (
        ("cab-foot", "foot of the cab", CAB_FOOT),
        ("pillar", "windshield pillar and hinges", PILLAR),
        ("springs", "rear spring hangers", SHACKLE),
        ("roof-edge", "drip rail", ROOF_EDGE),
    )
    return sides(*places, turn=turn)


# from the side: panels of the nose, the windshield and the cowl seen on edge are drawn as what they lie in
ON_EDGE = (
    Plain(("lamp.@*",), "bezel.@"),
    Plain(("parklens.@",), "park.@"),
    Plain(("grille", "slot"), "fender"),
    Plain(("hood/rib",), "hood"),
    Plain(("wsseal", "wsframe"), "wsglass"),
    Plain(("vent",), "cowl"),
)
# from above: pressings and handles of the sides are thinner than a line
FROM_ABOVE = (
    Plain(("fender/swage",), "fender"),
    Plain(("door.*", "cab.*", "fender"), "cowl", (564.0, -9999.0, 700.0, 9999.0)),
    *(Plain((f"{panel}.{q}/swage",), f"{panel}.{q}") for panel in ("cab", "door", "bed") for q in ("l", "r")),
    *(Plain((f"handle.{q}", f"lock.{q}"), f"door.{q}") for q in ("l", "r")),
)
# cut at the middle: the rib of the hood seen on edge, and the end of the cowl that lies within the foot of the pillar
CUT = (Plain(("hood/rib",), "hood"), Plain(("cowl",), "cab.@", (-705.0, 1080.0, -636.0, 1112.0)))
SIDE_NOT = (*NOT, "wiper", "plate")

VIEWS = (
    ViewOf("left", "Left side", LEFT, unit=0.5, without=SIDE_NOT, plain=one_side("l", *ON_EDGE), crops=_side_crops(False)),
    ViewOf("right", "Right side", RIGHT, unit=0.5, without=SIDE_NOT, plain=one_side("r", *ON_EDGE), crops=_side_crops(True)),
    ViewOf("plan", "From above", ABOVE, unit=0.5, without=(*NOT, "plate", "wiper"), plain=FROM_ABOVE, portrait=True),
    ViewOf(
        "front",
        "Front",
        FRONT,
        unit=0.5,
        without=NOT,
        plain=FROM_ABOVE[:1],
        crops=(Crop("springs", "front springs and horns", (-620, 200, 620, 720)),),
        px_wide=480,
    ),
    ViewOf("rear", "Rear", REAR, unit=0.5, without=NOT, px_wide=480),
    ViewOf(
        "rear-open",
        "Rear, tailgate and bumper off",
        REAR,
        unit=0.5,
        without=("tailgate", "gatedown", "bumper", "iron"),
        px_wide=480,
    ),
    ViewOf(
        "floor",
        "Cab floor, skin off",
        ABOVE,
        unit=0.5,
        only=("floor", "rocker", "pocket", "tank", "cabskin", "feet", "pedal"),
        without=("floorunder", "rockerunder"),
        clip=(0, 9999, -9999, 9999, 0, 1100),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "forward",
        "Inside, looking forward and down",
        INTO_CAB,
        unit=0.5,
        only=("floor", "rocker", "pocket", "firewall", "dash", "steer", "pedal", "lever", "cabskin", "door", "shield"),
        without=("floorunder", "rockerunder"),
        clip=(0, 1330, -9999, 9999, 0, 9999),
        crops=(Crop("dash", "dash top", (-450, 480, 450, 960)),),
        px_wide=480,
    ),
    ViewOf("frame", "Frame from above, body off", ABOVE, without=SHEET_METAL + INSIDE + BAY, portrait=True),
    ViewOf(
        "below",
        "From below",
        BELOW,
        without=("gatedown", "plate", "enginehose"),
        portrait=True,
        crops=halves(("cab-below", "cab from below", (480, 340, 1800, 1000))),
    ),
    ViewOf(
        "underbody",
        "Cab from below, frame off",
        BELOW,
        unit=0.5,
        only=("floorunder", "brace", "rocker"),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "bay",
        "Engine bay, hood off",
        ABOVE,
        unit=0.5,
        without=("hood", "bumper", "iron", "plate", "gatedown", "wiper"),
        plain=FROM_ABOVE,
        bounds=(-1000, -1010, 760, 1010),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "bed",
        "Bed, tailgate down",
        ABOVE,
        unit=0.5,
        only=("bed", "wheelhouse", "gatedown", "tailgate"),
        without=("tailgate", "bedunder"),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "bed-bare",
        "Bed floor off: cross sills on the frame",
        ABOVE,
        unit=0.5,
        only=("bedcross", "frame", "running", "wheel", "bedside", "bedrail"),
        bounds=(1700, -1000, 4100, 1000),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "section-l",
        "Cut at the middle: left half from inside",
        RIGHT,
        without=(
            "wheel",
            "drum",
            "running",
            "engine",
            "bumper",
            "iron",
            "plate",
            "gatedown",
            "tank",
            "steer",
            "pedal",
            "lever",
            "well",
            "mirror",
            "dash",
        ),
        plain=one_side("l", *CUT),
        clip=(-9999, 9999, 2, 9999, 0, 9999),
        unit=0.5,
        px_wide=600,
        bounds=(-1900, 330, 700, 1830),
    ),
    ViewOf(
        "section-r",
        "Cut at the middle: right half from inside",
        LEFT,
        without=(
            "wheel",
            "drum",
            "running",
            "engine",
            "bumper",
            "iron",
            "plate",
            "gatedown",
            "tank",
            "steer",
            "pedal",
            "lever",
            "well",
            "mirror",
            "dash",
        ),
        plain=one_side("r", *CUT),
        clip=(-9999, 9999, -9999, -2, 0, 9999),
        unit=0.5,
        px_wide=600,
        bounds=(-700, 330, 1900, 1830),
    ),
    ViewOf(
        "three-quarter",
        "Three-quarter",
        THREE_QUARTER,
        without=(*NOT, "iron", "frame", "running", "engine", "radsupport", "slam"),
    ),
)
