"""What the page of a walk works with on the phone: stops, zones, words and what is recorded already, as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from weldworth.belief.believe import BAD
from weldworth.belief.sight import Lexicon, lexicon
from weldworth.core.errors import NotFound
from weldworth.drawings.ground import ground
from weldworth.drawings.shelf import ask, bodies
from weldworth.picture.limits import limits
from weldworth.report.metal import zone_row
from weldworth.report.numbers import hundred, top_price
from weldworth.vehicle.plan import Zone
from weldworth.workbench.desk import Desk
from weldworth.workbench.diary_words import about, words_of
from weldworth.workbench.ledger import Entry
from weldworth.workbench.lines import CandidateView, Metal
from weldworth.workbench.recording import READING_UNITS
from weldworth.workbench.route import ANYWHERE, Ground
from weldworth.workbench.stamps import MARK, TAKEN, moment_in
from weldworth.workbench.walk import walkers
from weldworth.workbench.walking import REASONS, Walk, taken_down
from weldworth.workbench.weigh import Weighing

SEEN = (
    "original-paint",
    "surface-rust",
    "bubbling",
    "scale",
    "pitting",
    "hole",
    "soft",
    "patch",
    "filler",
    "fresh-coating",
    "sealer-crack",
    "staining",
    "bare-metal",
    "wet",
    "mud",
)
PROBED = ("rings", "dull", "dents", "goes-through", "magnet-slips", "box-clean", "box-scale")
OF_METAL = ("coating", "wall")
STRUCTURAL = "Structural: have a licensed workshop judge it, and local law decide whether it may be mended."


@dataclass(frozen=True, slots=True)
class Now:
    """What is believed of a zone after a finding, in words: chance in 100 of bad metal, what is most likely."""

    zone: str
    bad: str
    likely: str


def ground_of(body: str) -> Ground:
    """The ground of a body, of a usual one where it has no drawings."""
    return ground(body) if body in bodies() else ANYWHERE


def likely_first(zone: Zone, metal: Metal, lex: Lexicon) -> list[str]:
    """The signs to be seen, those first that a zone of this kind with this life shows most often.

    What was recorded about this vehicle has no say: the walk does not lead the eye.
    """
    prior = metal.belief.prior[metal.plan.index[zone.id]]
    return sorted(SEEN, key=lambda sign: (-float(prior @ lex.signs[sign].chance), SEEN.index(sign)))


def pictogram(body: str, zone: str) -> str:
    """Where to stand and what to frame, as SVG; "" where there is no drawing."""
    try:
        return ask(body, zone)
    except NotFound:
        return ""


def walk_data(desk: Desk, view: CandidateView, walk: Walk, *, base: str, sees: bool) -> dict[str, object]:
    """Everything that the page needs while there is no reception, as JSON values.

    base : address of the walk. sees : whether the one who walks may see belief and ceiling.
    """
    metal, lex = desk.metal(view.id), lexicon(desk.tables())
    plan, body = metal.plan, view.dossier.vehicle.body
    places = {place.id: place for place in plan.places}
    stops = [
        {
            "name": stop.name,
            "station": stop.station,
            "caution": stop.caution,
            "minutes": max(1, round(stop.seconds / 60)),
            "zones": [_zone(plan.zone(id), metal, lex, body, id in stop.first) for id in stop.zones if id in plan.index]
            + [
                {"id": id, "label": places[id].name, "how": places[id].photo, "place": True, "readings": ["door-gap"]}
                for id in stop.places
                if id in places
            ],
        }
        for stop in walk.stops
    ]
    return {
        "walk": walk.id,
        "name": view.dossier.vehicle.name,
        "base": base,
        "back": f"/c/{view.id}/walk",
        "sees": sees,
        "helper": False,
        "ended": walk.ended is not None,
        "source": walkers(desk.tables())[walk.source].name if walk.source in walkers(desk.tables()) else walk.source,
        "stops": stops,
        "probes": list(PROBED),
        "meanings": {sign: lex.signs[sign].meaning for sign in (*SEEN, *PROBED)},
        "units": {kind: list(units) for kind, units in READING_UNITS.items()},
        "reasons": list(REASONS.items()),
        "longest": limits(desk.tables()).memo_seconds,
        "records": recorded(desk, view, walk),
    }


def _zone(zone: Zone, metal: Metal, lex: Lexicon, body: str, first: bool) -> dict[str, object]:
    usual = f"New, {zone.thickness_mm[0]:g} to {zone.thickness_mm[1]:g} mm."
    return {
        "id": zone.id,
        "label": zone.label,
        "first": first,
        "uncover": "" if zone.uncover.startswith("none") else zone.uncover,
        "tell": zone.tell,
        "how": f"{zone.photo} {zone.probe} {usual}",
        "structural": STRUCTURAL if zone.structural == "yes" else "",
        "twin": metal.plan.twin(zone.id) or "",
        "drawn": pictogram(body, zone.id),
        "signs": likely_first(zone, metal, lex),
        "readings": list(OF_METAL),
    }


def recorded(desk: Desk, view: CandidateView, walk: Walk) -> list[dict[str, object]]:
    """What was recorded on the walk, as the phone lists it."""
    words, by_seq = words_of(view.dossier.vehicle.body, desk.tables()), {entry.seq: entry for entry in view.entries}
    return [_record(entry, about(entry, words, by_seq)) for entry in taken_down(view, walk.id)]


def _record(entry: Entry, said: str) -> dict[str, object]:
    body = entry.body
    zones = body.get("zones")
    zone = body.get("zone") or (zones[0] if isinstance(zones, list) and zones else "")
    taken = moment_in(body.get(TAKEN)) or entry.at
    found = {"mark": body.get(MARK, ""), "kind": entry.kind, "zone": zone, "words": said, "short": _short(entry)}
    if entry.kind == "reading":
        found["reading"] = {key: body.get(key) for key in ("kind", "value", "unit")}
    return {**found, "at": taken.isoformat()}


def _short(entry: Entry) -> str:
    """What an entry says of its zone, in as few words as fit beside the zone's name."""
    body = entry.body
    if entry.kind == "finding":
        return ("no " if body.get("absent") else "") + str(body.get("sign")).replace("-", " ")
    if entry.kind == "reading":
        return f"{str(body.get('kind')).replace('-', ' ')} {body.get('value')} {body.get('unit')}"
    if entry.kind == "memo":
        return f"memo of {float(str(body.get('seconds', 0))):.0f} s"
    return str(body.get("text", "")) if entry.kind == "note" else entry.kind


def running(metal: Metal, weighing: Weighing | None, zones: Sequence[str], seen: frozenset[str]) -> dict[str, object]:
    """The belief of some zones and the ceiling, in words."""
    found: list[Now] = []
    for id in zones:
        if id in metal.plan.index:
            chances = metal.belief.zones[metal.plan.index[id]]
            row = zone_row(metal.plan.zone(id), chances.tolist(), id in seen)
            found.append(Now(id, hundred(float(chances[list(BAD)].sum())), row.likely))
    return {"zones": [asdict(one) for one in found], "ceiling": _ceiling_sentence(weighing)}


def _ceiling_sentence(weighing: Weighing | None) -> str:
    words = ceiling_words(weighing)
    return f"Ceiling {words}." if words[:1].isdigit() else "As it stands nothing pays." if words else ""


def ceiling_words(weighing: Weighing | None) -> str:
    """The ceiling as named, "nothing pays", or "" where nothing can be weighed yet."""
    if weighing is None:
        return ""
    pays = weighing.ceiling.because != "nothing pays"
    return f"{top_price(weighing.ceiling.amount)} {weighing.terms.deal.currency}" if pays else "nothing pays"
