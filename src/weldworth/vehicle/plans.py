"""Loading a body plan and laying it out for one vehicle: every zone on every side, with the options fitted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.tables.load import Tables
from weldworth.vehicle.plan import Plan, ReadingPlace, Relation, Sentinel, Tell, Zone
from weldworth.vehicle.plan_file import PlanFile, read_plan

_LETTER = {"left": "l", "right": "r"}


def load_plan(body: str, tables: Tables, *, battery_side: str | None = None, options: Sequence[str] = ()) -> Plan:
    """The plan of `body` laid out for one vehicle.

    body : name of a file in the plans folder of the tables, such as "pickup".
    battery_side : "left" or "right" from the driver's seat, None for the plan's usual side.
    options : names of fitted options that bring zones or change them; see `plan_options`.

    Raises BadInput with every problem found: an unknown body, side or option (naming the nearest), or whatever is
    wrong in the plan file itself.
    """
    return tables.once(("plan", body, battery_side, tuple(options)), lambda: _fitted(body, tables, battery_side, options))


def _fitted(body: str, tables: Tables, battery_side: str | None, options: Sequence[str]) -> Plan:
    plan = read_plan(body, tables)
    known = {str(option["name"]): option for option in plan.items["option"]}
    problems = [
        Problem(f"plan {body}", unknown("option", name, known) if known else f"option {name!r}: this body has no options")
        for name in options
        if name not in known
    ]
    if battery_side is not None and battery_side not in _LETTER:
        problems.append(Problem(f"plan {body}", unknown("battery side", battery_side, _LETTER)))
    if problems:
        raise BadInput(problems)
    battery = battery_side or str(plan.top["battery_side"])
    kinds = _laid_out(plan, battery, set(options))
    return Plan(
        body=body,
        code=plan.top["code"],
        name=plan.top["name"],
        zones=tuple(zone for group in kinds.values() for zone in group),
        relations=tuple(_relations(plan, kinds)),
        tells=tuple(_tells(plan, kinds)),
        sentinels=tuple(_sentinels(plan, kinds)),
        places=tuple(_places(plan, kinds, battery)),
        battery_side=battery,
        options={name: name in options for name in known},
    )


def plan_options(body: str, tables: Tables) -> dict[str, str]:
    """The options that a vehicle of this body may have, by name, each with its words for people."""
    return {str(option["name"]): str(option["words"]) for option in read_plan(body, tables).items["option"]}


def _sides(side: str, plan: PlanFile, battery: str) -> tuple[str, ...]:
    """The sides ("l", "r" or "") on which something with this plan side lies."""
    if side == "both":
        return ("l", "r")
    if side == "centre":
        return ("",)
    return (_LETTER[battery if side == "battery" else str(plan.top["slide_side"])],)


def _id(kind: str, side: str, plan_side: str) -> str:
    return f"{kind}.{side}" if plan_side == "both" else kind


def _laid_out(plan: PlanFile, battery: str, options: set[str]) -> dict[str, list[Zone]]:
    """The zones of each kind, in the plan's order; kinds whose option is not fitted are left out."""
    changes: dict[str, dict[str, Any]] = {}
    for option in plan.items["option"]:
        for change in option.get("change", ()) if option["name"] in options else ():
            changes.setdefault(change["zone"], {}).update({key: value for key, value in change.items() if key != "zone"})
    kinds: dict[str, list[Zone]] = {}
    for written in plan.items["zone"]:
        if "option" in written and written["option"] not in options:
            continue
        kind = written["id"]
        item = {**written, **changes.get(kind, {})}
        kinds[kind] = [_zone(item, side, plan, battery) for side in _sides(item["side"], plan, battery)]
    return kinds


def _zone(item: Mapping[str, Any], side: str, plan: PlanFile, battery: str) -> Zone:
    low, high = item["thickness_mm"]
    zone = Zone(
        id=_id(item["id"], side, item["side"]),
        kind=item["id"],
        name=item["name"],
        side=side,
        station=item["station"],
        structural=item["structural"],
        thickness_mm=(float(low), float(high)),
        vulnerability=float(item["vulnerability"]),
        cause=item["cause"],
        family=item["family"],
        sheltered=item.get("sheltered", False),
        view=item["view"],
        wetting=item["wetting"],
        tell=item["tell"],
        uncover=item.get("uncover", ""),
        photo=_photo(item["photo"], plan),
        probe=_probe(item["probe"], plan),
        access=item["access"],
        basis=item.get("basis", plan.top["basis"]),
        inside=item.get("inside", False),
        seen=item["seen"],
        structural_note=item.get("structural_note", ""),
        thickness_note=item.get("thickness_note", ""),
        photo_underneath=any(word in plan.underneath for word, _ in item["photo"]),
    )
    if item.get("acid", False) and side == _LETTER[battery]:
        return replace(zone, cause="battery", family=f"{zone.family} at the battery")
    return zone


def _photo(steps: Sequence[Sequence[str]], plan: PlanFile) -> str:
    """The pictures to take, in full sentences, numbered where there are several."""
    known = plan.instructions["photo word"]
    pictures = [f"{known[word]} Here: {detail}." if detail else known[word] for word, detail in steps]
    if len(pictures) == 1:
        return pictures[0]
    return " ".join(f"Picture {number}: {text}" for number, text in enumerate(pictures, 1))


def _probe(steps: Sequence[Sequence[str]], plan: PlanFile) -> str:
    """What to do by hand, one sentence."""
    known = plan.instructions["probe word"]
    text = "; ".join(f"{known[word]} ({detail})" if detail else known[word] for word, detail in steps)
    return text[:1].upper() + text[1:] + "."


def _pairs(kinds: Mapping[str, list[Zone]], one: str, other: str) -> Iterator[tuple[Zone, Zone]]:
    """Zones of two kinds that belong together: the same side, or the centre with every side."""
    for a in kinds.get(one, ()):
        for b in kinds.get(other, ()):
            if not a.side or not b.side or a.side == b.side:
                yield a, b


def _relations(plan: PlanFile, kinds: Mapping[str, list[Zone]]) -> Iterator[Relation]:
    basis = plan.top["basis"]
    for item in plan.items["relation"]:
        for a, b in _pairs(kinds, item["zone"], item["of"]):
            yield Relation(item["kind"], a.id, b.id, item.get("strength"), item.get("note", ""), item.get("basis", basis))
    for left, right in (group for group in kinds.values() if len(group) == 2):
        if left.cause == right.cause:
            yield Relation("twin", left.id, right.id, plan.top.get("twin_strength"), "", basis)
        else:
            yield Relation("twin", left.id, right.id, None, "battery acid works on one side only", basis)


def _tells(plan: PlanFile, kinds: Mapping[str, list[Zone]]) -> Iterator[Tell]:
    for item in plan.items["tell"]:
        for zone, hidden in _pairs(kinds, item["zone"], item["hidden"]):
            yield Tell(zone.id, tuple(item["signs"]), hidden.id, item["row"])


def _sentinels(plan: PlanFile, kinds: Mapping[str, list[Zone]]) -> Iterator[Sentinel]:
    for item in plan.items["sentinel"]:
        for zone in kinds.get(item["zone"], ()):
            yield Sentinel(zone.id, item["of"], item.get("note", ""), item.get("basis", plan.top["basis"]))


def _places(plan: PlanFile, kinds: Mapping[str, list[Zone]], battery: str) -> Iterator[ReadingPlace]:
    for item in plan.items["place"]:
        for side in _sides(item["side"], plan, battery):
            zones = (zone for kind in item["hidden"] for zone in kinds.get(kind, ()))
            yield ReadingPlace(
                id=_id(item["id"], side, item["side"]),
                name=item["name"] + {"l": ", left", "r": ", right", "": ""}[side],
                kind=item["kind"],
                hidden=tuple(zone.id for zone in zones if not side or not zone.side or zone.side == side),
                row=item["row"],
                photo=_photo(item["photo"], plan),
                note=item.get("note", ""),
                basis=item.get("basis", plan.top["basis"]),
            )
