"""The views of the open tub and the crops of its crowded places."""

from __future__ import annotations

from views import ABOVE, BELOW, FRONT, INTO_CAB, LEFT, REAR, RIGHT, THREE_QUARTER, Crop, ViewOf, mirror, sides

NOT = ("gatedown",)
SKIN = ("hood", "nose", "fender", "lamp", "well", "tub", "door", "cowl", "hinge", "rim", "shield", "wiper", "tail", "gatedown")
LOOSE = ("rollbar", "seat", "steer", "pedal", "lever")
TUB = ("floor", "hat", "mount", "sill", "rocker", "pocket", "inner", "doorin", "quarterin", "house", "firewall", "dash")
BAY = ("enginehose", "apron", "battery", "radsupport", "rubber")
CUT = ("wheel", "drum", "running", "engine", "bumper", "tank", "steer", "pedal", "lever", "well", "gatedown", "lamp")


def _side_crops(turn: bool) -> tuple[Crop, ...]:
    places = (
        ("door-foot", "foot of the door", (380, 400, 1480, 1120)),
        ("tail", "rear quarter", (2300, 380, 3000, 1120)),
        ("front-springs", "front spring hangers", (-640, 340, 640, 720)),
        ("rear-springs", "rear spring hangers", (1600, 340, 2960, 760)),
    )
    return sides(*places, turn=turn)


def _section(name: str, title: str, s: int) -> ViewOf:
    clip = (-9999, 9999, 385, 9999, 0, 9999) if s > 0 else (-9999, 9999, -9999, -385, 0, 9999)
    bounds = (-3000, 330, 800, 1760)
    return ViewOf(
        name,
        title,
        RIGHT if s > 0 else LEFT,
        without=CUT,
        clip=clip,
        bounds=bounds if s > 0 else mirror(bounds),
    )


VIEWS = (
    ViewOf("left", "Left side", LEFT, unit=0.5, without=NOT, crops=_side_crops(False)),
    ViewOf("right", "Right side", RIGHT, unit=0.5, without=NOT, crops=_side_crops(True)),
    ViewOf(
        "plan",
        "From above",
        ABOVE,
        unit=0.5,
        without=("wiper", *NOT),
        portrait=True,
        crops=(Crop("cowl", "cowl and hinges", (280, -800, 860, 800)),),
    ),
    ViewOf("front", "Front", FRONT, unit=0.5, without=NOT, px_wide=480),
    ViewOf("rear", "Rear", REAR, unit=0.5, without=NOT, px_wide=480),
    ViewOf(
        "rear-open", "Rear, tailgate and bumpers off", REAR, unit=0.5, without=("tailgate", "bumper", "steer", *NOT), px_wide=480
    ),
    ViewOf(
        "floor",
        "Floor of the tub, skin off",
        ABOVE,
        unit=0.5,
        only=("floor", "rocker", "pocket", "house", "pedal", "sill", "quarterin"),
        without=("floorunder", "rockerunder", "houseunder"),
        clip=(0, 9999, -9999, 9999, 0, 1100),
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
            "rocker",
            "pocket",
            "inner",
            "doorin",
            "firewall",
            "dash",
            "steer",
            "pedal",
            "lever",
            "tub",
            "door",
            "shield",
            "cowl",
        ),
        without=("floorunder", "rockerunder"),
        clip=(0, 1178, -9999, 9999, 0, 9999),
        bounds=(-790, 10, 790, 1270),
        px_wide=480,
    ),
    ViewOf("frame", "Frame from above, body off", ABOVE, without=SKIN + LOOSE + TUB + BAY, portrait=True),
    ViewOf("below", "From below", BELOW, without=("enginehose", *NOT), portrait=True),
    ViewOf(
        "underbody",
        "Tub from below, frame off",
        BELOW,
        unit=0.5,
        only=("floorunder", "hat", "mount", "sill", "rocker", "house"),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "bay",
        "Engine bay, hood off",
        ABOVE,
        unit=0.5,
        without=("hood", "bumper", "lamp", "wiper", "shield", "steer", *NOT),
        clip=(-9999, 664, -9999, 9999, 0, 9999),
        bounds=(-760, -820, 690, 820),
        portrait=True,
        px_wide=480,
    ),
    ViewOf(
        "cargo",
        "Cargo floor, tailgate down",
        ABOVE,
        unit=0.5,
        only=("floor", "house", "sill", "rim", "quarterin", "gatedown"),
        without=("floorunder", "houseunder"),
        clip=(1592, 9999, -9999, 9999, 0, 9999),
        bounds=(1550, -790, 3270, 790),
        portrait=True,
        px_wide=480,
    ),
    _section("section-l", "Cut along the rail: left side from inside", 1),
    _section("section-r", "Cut along the rail: right side from inside", -1),
    ViewOf("three-quarter", "Three-quarter", THREE_QUARTER, without=NOT),
)
