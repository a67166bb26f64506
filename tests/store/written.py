"""Dossier folders as a trader writes them, small and full, and how they are read."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from weldworth.core.errors import BadInput
from weldworth.store.folder import read_dossier
from weldworth.tables.load import load_tables
from weldworth.workbench.dossier import Dossier

TODAY = date(2026, 11, 25)
TABLES = load_tables()
BASIC = """
[vehicle]
name = "Tamarack"
body = "pickup"

[[finding]]
zone = "{outside}"
sign = "bubbling"
source = "asked-picture"
"""


def zones() -> tuple[str, str, str]:
    """A zone on both sides without its side, the same with it, and a zone on the centre line, of the pickup."""
    from weldworth.vehicle.plans import load_plan

    plan = load_plan("pickup", TABLES)
    paired = next(zone for zone in plan.zones if zone.id.endswith(".l"))
    return paired.kind, paired.id, next(zone.id for zone in plan.zones if not zone.side)


PAIRED, LEFT, CENTRE = zones()
GAP = "pu.gap"


def filled(template: str, line: str) -> str:
    """The template with the line in place of its {}."""
    return template.replace("{}", line)


def a_folder(tmp_path: Path, text: str = BASIC, *, pictures: tuple[str, ...] = (), **files: str) -> Path:
    """A dossier folder; `{outside}` in the text stands for a zone. files : name with _ for the dot -> text."""
    folder = tmp_path / "tamarack"
    folder.mkdir(exist_ok=True)
    (folder / "candidate.toml").write_text(text.replace("{outside}", LEFT), encoding="utf-8")
    for name in pictures:
        (folder / "pictures" / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / "pictures" / name).write_bytes(b"")
    for name, content in files.items():
        (folder / name.replace("_", ".")).write_text(content, encoding="utf-8")
    return folder


def read(folder: Path) -> Dossier:
    return read_dossier(folder, TABLES, today=TODAY)


def refused(folder: Path) -> list[str]:
    """The problems, each on one line."""
    with pytest.raises(BadInput) as caught:
        read(folder)
    lines = [str(problem) for problem in caught.value.problems]
    assert all(len(line.splitlines()) == 1 for line in lines)
    return lines


FULL = f"""
[vehicle]
name = "Tamarack"
body = "pickup"
model_year = 1974
built = "1973-11"
number = "F10GLU12345"
odometer = 81234
odometer_unit = "mi"
battery_side = "left"
repairs = "one-owner"

[[history]]
place = "Detroit, MI"
from = 1974
to = 1990
storage = "outside"
ground = "gravel"
salted_winters = 12
use = "farm"

[[history]]
lat = 35.2
lon = -111.6
from = 1990-06-01
storage = "barn-dry"
coating = "oiled-yearly"
interior = "bare"
roof = "hard"
papers = true

[[finding]]
id = "corner"
zone = "{LEFT}"
sign = "bubbling"
source = "asked-picture"
picture = "left/corner.JPG"
region = [10, 20, 300, 400]
quality = 0.8
seen_on = 2026-11-02
note = "as big as a hand"

[[finding]]
zone = "{LEFT}"
sign = "hole"
source = "own-ground"
replaces = "corner"

[[finding]]
zone = "{CENTRE}"
sign = "scale"
absent = true
source = "old-picture"
seen_on = 2019

[[finding]]
zone = "{CENTRE}"
sign = "not-shown"
source = "asked-picture"

[[reading]]
zone = "{LEFT}"
kind = "coating"
value = 12
unit = "mil"
source = "own-ground"

[[reading]]
zone = "{GAP}.l"
kind = "door-gap"
value = -0.125
unit = "in"
source = "live-video"
seen_on = "2026-11-20"

[[answer]]
question = "floor-press"
answer = "crunches"
given_on = 2026-11-20

[[answer]]
question = "filler"
answer = "refused"

[[answer]]
question = "fix-first"
answer = "He said the clutch, then laughed."

[sale]
kind = "auction"
price_low = 4000
price_high = "9,500"
closes = 2026-12-05T18:00:00-06:00
buyer_fee = "5 % min 250 max 7,500"
seller_place = "Flagstaff, AZ"
bidders = 4

[resale]
low = 14000
likely = 18000
high = 23000

[shop]
margin = "20 %"
holding_months = 4
labour_rate = [70, 90, 120]
place = "Denver, CO"
transport_adders = "not-running"
"""
