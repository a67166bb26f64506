"""Rows about the metal: every zone by station, what was seen and what was not, and the life that the vehicle has led."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp
from typing import cast

import numpy as np

from weldworth.belief.believe import BAD
from weldworth.belief.machine import trusts
from weldworth.belief.sight import lexicon
from weldworth.core.units import written
from weldworth.evidence.pictures import Look
from weldworth.evidence.questions import questions
from weldworth.evidence.records import Answer, Finding, Reading, standing
from weldworth.exposure.result import Exposure
from weldworth.report.numbers import hundred, in_100, plainly
from weldworth.report.sheet import Evidence, Item, Six, Station, StretchRow, ZoneRow
from weldworth.tables import Tables
from weldworth.vehicle.conditions import CONDITIONS
from weldworth.vehicle.plan import Plan, Zone
from weldworth.workbench.coverage import seen_zones
from weldworth.workbench.sights import looks_of
from weldworth.workbench.weigh import Weighing

STATIONS = ("outside", "inside", "underneath", "engine bay")
BADNESS = np.array([0.0, 0.25, 0.6, 1.0, 0.12, 1.0])
"""How deep each condition is drawn, 0 pale to 1 deep, in the order of CONDITIONS."""
TINTS = 8
UNSURE = (0.45, 0.65, 0.8)
"""Shares of the greatest entropy from which a zone is hatched once, twice, three times."""
STRUCTURAL = {"yes": "structural", "partly": "partly structural", "no": ""}
CHANNELS = {"bottom": "From below", "top": "From above", "floor": "On the cabin floor", "acid": "Under the battery"}


def zone_row(zone: Zone, chances: Sequence[float], seen: bool) -> ZoneRow:
    """One zone with its six chances, (6,) in the order of CONDITIONS."""
    p = np.asarray(chances, dtype=np.float64)
    bad = float(p[list(BAD)].sum())
    entropy = float(-(p[p > 0] * np.log(p[p > 0])).sum() / np.log(p.size))
    order = np.argsort(-p, kind="stable")
    words = [CONDITIONS[i] for i in (order[:1] if p[order[0]] >= 0.6 else order[:2])]
    return ZoneRow(
        id=zone.id,
        label=zone.label,
        station=zone.station,
        structural=STRUCTURAL[zone.structural],
        seen=seen,
        seen_words="seen" if seen else "not seen",
        chances=cast(Six, tuple(p.tolist())),
        figures=tuple(hundred(x) for x in p.tolist()),
        bad=bad,
        bad_text=in_100(bad),
        likely=" or ".join(words),
        tint=round(TINTS * float(p @ BADNESS)),
        hatch=sum(entropy >= step for step in UNSURE),
    )


def zone_rows(weighing: Weighing) -> tuple[ZoneRow, ...]:
    """Every zone in the plan's order."""
    seen = seen_zones(weighing.belief)
    rows = zip(weighing.plan.zones, weighing.belief.zones.tolist(), strict=True)
    return tuple(zone_row(zone, chances, zone.id in seen) for zone, chances in rows)


def stations(rows: Sequence[ZoneRow]) -> tuple[Station, ...]:
    """The zones by station, worst first."""
    found = []
    for name in (*STATIONS, *sorted({row.station for row in rows} - set(STATIONS))):
        here = sorted((row for row in rows if row.station == name), key=lambda row: (-row.bad, row.id))
        if here:
            seen = sum(row.seen for row in here)
            found.append(Station(name.capitalize(), f"{seen} of {len(here)} zones seen", tuple(here)))
    return tuple(found)


def evidence(weighing: Weighing, tables: Tables) -> Evidence:
    """What was recorded and stands, by station, and the metal that nobody has seen."""
    records = standing(weighing.dossier.records)
    looks = [record for record in records if isinstance(record, Finding | Reading)]
    answers = [record for record in records if isinstance(record, Answer)]
    findings = sum(isinstance(record, Finding) for record in looks)
    corrected = len(weighing.dossier.records) - len(records)
    counts = [_many(findings, "finding"), _many(len(looks) - findings, "reading"), _many(len(answers), "answer")]
    heard = {look.picture for look in _machine(weighing, tables) if _machine_item(look, weighing, tables) is not None}
    pictures = _many(len(weighing.dossier.pictures), "picture")
    counts.append(pictures + (f" (the machine is heard on {len(heard)})" if heard else ""))
    asked = questions(tables)
    told = []
    for answer in answers:
        question = asked[answer.question]
        words = question.answers.get(answer.answer, answer.answer)
        note = answer.note if question.weighed(answer.answer) else "kept, not weighed"
        told.append(Item(question.text, words, note))
    return Evidence(
        counts=", ".join(counts) + (f"; {_many(corrected, 'record')} corrected since" if corrected else ""),
        stations=_looks(looks, weighing, tables),
        answers=tuple(told),
        unseen=_unseen(weighing.plan, seen_zones(weighing.belief)),
    )


def _many(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"


def _machine(weighing: Weighing, tables: Tables) -> list[Look]:
    """The looks of the machine that were weighed."""
    findings = [record for record in standing(weighing.dossier.records) if isinstance(record, Finding)]
    return looks_of(weighing.dossier, findings, lexicon(tables), weighing.weighed_on)


def _machine_item(look: Look, weighing: Weighing, tables: Tables) -> Item | None:
    """What the machine says of one zone on one picture, and how far that is known to be right; None where it is not heard."""
    told = [sign for sign in look.suggested if sign not in look.settled]
    known = trusts(tables)
    quiet = [
        sign for sign, trust in known.items() if trust.silence and look.silent and sign not in (*look.suggested, *look.settled)
    ]
    if not told and not quiet:
        return None
    signs, silence = ((", ".join(sign.replace("-", " ") for sign in some)) for some in (told, quiet))
    lightly = [sign.replace("-", " ") for sign in told if not known[sign].photographs]
    notes = ["by the machine, until a person looks", lexicon(tables).sources[look.source].name, f"picture {look.picture}"]
    notes += [f"{' and '.join(lightly)} tried on synthetic pictures alone, weighed lightly"] if lightly else []
    notes += [str(look.seen_on)] if look.seen_on else []
    return Item(weighing.plan.zone(look.zone).label, f"perhaps {signs}" if told else f"no {silence} found", "; ".join(notes))


def _looks(records: Sequence[Finding | Reading], weighing: Weighing, tables: Tables) -> tuple[tuple[str, tuple[Item, ...]], ...]:
    places = {place.id: place.name for place in weighing.plan.places}
    sources = weighing.belief.heard.lex.sources if weighing.belief.heard.lex is not None else {}
    by_station: dict[str, list[Item]] = {}
    for record in records:
        zone = weighing.plan.zone(record.zone) if record.zone in weighing.plan.index else None
        source = sources[record.source].name if record.source in sources else record.source
        note = [source]
        if isinstance(record, Finding):
            sign = record.sign.replace("-", " ")
            value = f"looked for, no {sign}" if record.absent else "asked for, not shown" if record.sign == "not-shown" else sign
            note += [f"picture {record.picture}"] if record.picture else []
        else:
            value = f"{record.kind.replace('-', ' ')} {plainly(record.value, 3)} {written(record.unit)}"
        note += [str(record.seen_on)] if record.seen_on else []
        note += [record.note] if record.note else []
        label = zone.label if zone else places.get(record.zone, record.zone)
        by_station.setdefault(zone.station if zone else "outside", []).append(Item(label, value, "; ".join(note)))
    for look in _machine(weighing, tables):
        item = _machine_item(look, weighing, tables)
        if item is not None:
            by_station.setdefault(weighing.plan.zone(look.zone).station, []).append(item)
    return tuple((name.capitalize(), tuple(by_station[name])) for name in sorted(by_station, key=_station_order))


def _station_order(name: str) -> int:
    return STATIONS.index(name) if name in STATIONS else len(STATIONS)


def _unseen(plan: Plan, seen: frozenset[str]) -> tuple[Item, ...]:
    """Zones that usually rust first, then structural ones, that nobody has seen."""
    first = {sentinel.zone: sentinel.of for sentinel in plan.sentinels}
    found = []
    for zone in plan.zones:
        if zone.id in seen or (zone.id not in first and zone.structural != "yes"):
            continue
        note = f"usually rusts first of {first[zone.id]}" if zone.id in first else ""
        found.append(Item(zone.label, STRUCTURAL[zone.structural], note))
    return tuple(sorted(found, key=lambda item: not item.note))


def stretch_rows(exposure: Exposure) -> tuple[StretchRow, ...]:
    """The stretches of the life in order, with what each added to the loss of metal from below."""
    rows = []
    for stretch in exposure.stretches:
        factors = [
            f"{name} \u00d7 {plainly(factor, 2)}" for name, factor in stretch.multipliers.items() if abs(factor - 1) > 0.005
        ]
        rows.append(
            StretchRow(
                label=stretch.label,
                years=f"{int(stretch.start)} to {int(stretch.end)}",
                category=stretch.category,
                rate=f"{plainly(stretch.rate_um, 0)} µm",
                factors=", ".join(factors) or "as it is",
                share=stretch.share,
                share_text=in_100(stretch.share),
                note=stretch.note,
                known=stretch.known,
            )
        )
    return tuple(rows)


def exposure_items(exposure: Exposure) -> tuple[Item, ...]:
    """Metal loss against the reference life, and how well it is known."""
    items = []
    for channel, words in CHANNELS.items():
        if channel in exposure.open_air:
            note = f"cavities that stay damp {plainly(exposure.factor(channel, True), 2)}"
            items.append(Item(words, f"{plainly(exposure.factor(channel, False), 2)} times", note))
    factor = exp(1.2816 * exposure.spread)
    items.append(Item("How well that is known", f"to a factor of {plainly(factor, 1)}", "8 times in 10"))
    return tuple(items)


def repair_items(weighing: Weighing, tables: Tables) -> tuple[Item, ...]:
    """How the vehicle was probably treated: left alone, honestly mended, dressed for sale."""
    names = {
        row.text("state"): row.text("name") for row in tables.rows("repair_states.csv", ("state", "name", "repaired", "well"))
    }
    return tuple(Item(names.get(state, state).capitalize(), in_100(chance)) for state, chance in weighing.belief.repair.items())
