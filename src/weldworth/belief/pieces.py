"""Records turned into pieces of evidence: what each says of which zone or cause, before and after damping."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
from scipy.special import ndtr

from weldworth.belief.engine import Evidence, Ramp
from weldworth.belief.looking import PROBED, Probed, said_by
from weldworth.belief.machine import Trust
from weldworth.belief.network import Array, Network
from weldworth.belief.sight import Lexicon, Sign, Source, aged, probe_sets, seen, sharpness
from weldworth.core.errors import BadInput, Problem
from weldworth.core.units import written
from weldworth.core.words import unknown
from weldworth.evidence.pictures import Look
from weldworth.evidence.records import Finding, Reading
from weldworth.exposure.result import Exposure
from weldworth.tables import Tables
from weldworth.vehicle.plan import Plan, Tell, Zone

ACTS = ("coat", "refusal")
GAPS = {"door-gap": ("door-drop", "door_gap"), "jack-gap": ("jack-gap", "jack_gap")}
"""Kind of gap -> row of tells.csv, and how its numbers in [readings] of model.toml begin."""
READINGS = ("coating", "wall", *GAPS)
MACHINE = "machine"
COVERS = ("cover", "coat")


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of evidence as it bears on one zone, or (with `ramp`) on a zone's cause group and family.

    where : the record it came from. zone : what it is about. text : the sign and source in words.
    kind : pieces of one kind at one zone are damped together. log_likelihood : per condition, (6,), before damping.
    power : what damping leaves of it, 0..1. by : kind of the source of a finding (words, picture, hands), "machine" for
    what it says of a picture, "" otherwise. probed : its part in what one look with the probe reported. together : what that
    look reported in all, on one of its pieces; the others then count with power 0.
    """

    where: str
    zone: str
    text: str
    kind: str
    log_likelihood: Array
    ramp: Ramp | None = None
    power: float = 1.0
    by: str = ""
    probed: Probed | None = None
    together: Array | None = None

    @property
    def said(self) -> Array:
        """What it adds to the evidence of its zone, per condition, (6,)."""
        return self.power * (self.log_likelihood if self.together is None else self.together)

    @property
    def strength(self) -> float:
        """How far it can move one condition against another, in log-odds."""
        return float(np.ptp(self.log_likelihood))


@dataclass(frozen=True)
class Reader:
    """Turns records of one vehicle into pieces."""

    plan: Plan
    network: Network
    exposure: Exposure
    lex: Lexicon
    cause_signs: Mapping[tuple[str, str], Ramp]
    today: date
    trusts: Mapping[str, Trust] = field(default_factory=dict)

    def finding(self, record: Finding) -> list[Piece]:
        """The pieces of one finding: the zone's own, those of the metal it hides, or of the cause.

        Raises BadInput for a zone, sign or source that is not known.
        """
        zone, sign, source = self._zone(record.zone, record.where), self._sign(record), self._source(record.source, record.where)
        q = sharpness(self.lex, source, zone, sign, absent=record.absent, quality=record.quality, measured=record.measured)
        text = words_for(sign.id, source, absent=record.absent)
        pieces = []
        ramp = self.cause_signs.get((sign.id, zone.cause))
        if ramp is not None:
            dim = replace(ramp.through(q, self.lex.sight["blind_damage"]), absent=record.absent)
            pieces.append(Piece(record.where, zone.id, text, "cause", np.zeros(6), dim))
        elif sign.id in PROBED:
            pieces.append(self._probed(record, zone, source, q))
        else:
            own = self._then(record, zone, seen(self.lex, sign, q, absent=record.absent))
            pieces.append(Piece(record.where, zone.id, text, sign.kind, np.log(own), by=source.kind))
        tells = self._tells(zone, sign.id)
        for tell in tells:
            behind = self.plan.zone(tell.hidden)
            if ramp is None or behind.cause != zone.cause:
                log = np.log(self._then(record, behind, self._told(tell, q, absent=record.absent)))
                share = 1 / np.sqrt(sum(other.row == tell.row for other in tells))
                pieces.append(Piece(record.where, behind.id, f"{text} at {zone.label}", f"tell {tell.row}", share * log))
        return pieces

    def _probed(self, record: Finding, zone: Zone, source: Source, q: float) -> Piece:
        """A sign of a look with the probe, with what else that look could have reported."""
        sets = np.array([self._then(record, zone, row) for row in probe_sets(self.lex, q)])
        look = (record.source, record.seen_on, record.picture, record.quality, record.measured)
        return probe_piece(record.where, zone, source, Probed(look, record.sign, record.absent, sets))

    def _tells(self, zone: Zone, sign: str) -> list[Tell]:
        return [
            tell for tell in self.plan.tells if tell.zone == zone.id and sign in tell.signs and tell.hidden in self.plan.index
        ]

    def look(self, record: Look) -> list[Piece]:
        """The pieces of what the machine said of one zone on one picture: signs that it suggests, and its silence on those whose
        silence is measured on photographs, unless it sees a cover. Of n zones that share a look each counts with n^-0.5.

        Raises BadInput for a zone or source that is not known.
        """
        zone, source = self._zone(record.zone, record.where), self._source(record.source, record.where)
        share = 1 / np.sqrt(record.sharing)
        hidden = not record.silent or any(self.lex.signs[sign].kind in COVERS for sign in record.suggested)
        pieces = []
        for id, trust in self.trusts.items():
            absent = id not in record.suggested
            if id in record.settled or (absent and (hidden or not trust.silence)):
                continue
            sign = self.lex.signs[id]
            q = sharpness(self.lex, source, zone, sign, absent=absent, quality=record.quality, measured=True)
            tried = "" if trust.photographs else "; tried on synthetic pictures alone"
            text = f"{'no' if absent else 'perhaps'} {_in_words(id)} by the machine on {record.picture} ({source.name}{tried})"
            log = np.log(self._then(record, zone, trust.through(q, absent=absent)))
            power = share * trust.weight
            pieces.append(Piece(record.where, zone.id, text, sign.kind, power * log, by=MACHINE))
            tells = [] if absent else self._tells(zone, id)
            for tell in tells:
                behind = self.plan.zone(tell.hidden)
                log = np.log(self._then(record, behind, trust.told(self.lex.tells[tell.row], q)))
                part = power / np.sqrt(sum(other.row == tell.row for other in tells))
                pieces.append(
                    Piece(record.where, behind.id, f"{text} at {zone.label}", f"tell {tell.row}", part * log, by=MACHINE)
                )
        return pieces

    def reading(self, record: Reading) -> list[Piece]:
        """The pieces of one reading: soft evidence between the bands of its table.

        Raises BadInput for a zone or place, kind or source that is not known.
        """
        self._source(record.source, record.where)
        shown = f"{record.value:g} {written(record.unit)}"
        if record.kind in GAPS:
            return self._gap(record, f"{_in_words(record.kind)} {shown}")
        zone = self._zone(record.zone, record.where)
        if record.kind == "wall":
            ratio = record.value_mm / np.mean(zone.thickness_mm)
            thin = float(ndtr((self.lex.readings["thin_below"] - ratio) / self.lex.readings["wall_blur"]))
            likelihood = _soft(self.lex.signs["wall-thin"].chance, thin)
        elif record.kind == "coating":
            likelihood = self._coating(record.value_mm * 1000)
        else:
            raise BadInput([Problem(record.where, unknown("kind of reading", record.kind, READINGS))])
        return [Piece(record.where, zone.id, f"{record.kind} {shown}", record.kind, np.log(likelihood))]

    def _gap(self, record: Reading, text: str) -> list[Piece]:
        """A gap that is wide, or that moves when a corner is jacked: any one of the zones behind it explains it, so each
        counts with the power 1 / sqrt(their number)."""
        places = {place.id: place for place in self.plan.places}
        if record.zone not in places:
            raise BadInput([Problem(record.where, unknown("place of a door gap", record.zone, places))])
        hidden = [zone for zone in places[record.zone].hidden if zone in self.plan.index]
        row, name = GAPS[record.kind]
        wide, blur = self.lex.readings[f"{name}_mm"], self.lex.readings[f"{name}_blur_mm"]
        likelihood = _soft(self.lex.tells[row].chance, float(ndtr((record.value_mm - wide) / blur)))
        weight = 1 / np.sqrt(max(1, len(hidden)))
        return [Piece(record.where, zone, text, f"tell {row}", weight * np.log(likelihood)) for zone in hidden]

    def _coating(self, micrometres: float) -> Array:
        """The factory's paint, a repaint or filler; log-linear between what is typical of each."""
        bands = ("coating-thin", "coating-repaint", "coating-filler")
        rows = [np.log(self.lex.signs[name].chance) for name in bands]
        at = [self.lex.readings[f"{name.replace('-', '_')}_um"] for name in bands]
        return np.exp([np.interp(micrometres, at, [row[c] for row in rows]) for c in range(6)])

    def _told(self, tell: Tell, q: float, *, absent: bool) -> Array:
        told = q * self.lex.tells[tell.row].chance + (1 - q) * self.lex.sight["blind_damage"]
        return 1 - told if absent else told

    def _then(self, record: Finding | Look, zone: Zone, likelihood: Array) -> Array:
        years = (
            (self.today - record.seen_on).days / 365.25
            if record.seen_on
            else self.lex.old["undated_years"]
            if record.source == "old-picture"
            else 0.0
        )
        if years <= self.lex.old["after_years"]:
            return likelihood
        return aged(self.lex, self.network, self.plan.index[zone.id], likelihood, self.exposure.aged_back(years, zone.sheltered))

    def _zone(self, id: str, where: str) -> Zone:
        if id not in self.plan.index:
            raise BadInput([Problem(where, unknown("zone", id, self.plan.index))])
        return self.plan.zone(id)

    def _sign(self, record: Finding) -> Sign:
        if record.sign not in self.lex.signs:
            raise BadInput([Problem(record.where, unknown("sign", record.sign, self.lex.signs))])
        return self.lex.signs[record.sign]

    def _source(self, id: str, where: str) -> Source:
        if id not in self.lex.sources:
            raise BadInput([Problem(where, unknown("source", id, self.lex.sources))])
        return self.lex.sources[id]


def words_for(sign: str, source: Source, *, absent: bool = False) -> str:
    """A sign and who saw it, in words."""
    return ("no " if absent else "") + f"{_in_words(sign)} ({source.name})"


def probe_piece(where: str, zone: Zone, source: Source, probed: Probed) -> Piece:
    """One sign of a look with the probe as a piece of evidence at its zone."""
    text = words_for(probed.sign, source, absent=probed.absent)
    return Piece(where, zone.id, text, "probe", np.log(said_by([probed])), by=source.kind, probed=probed)


def cause_signs(tables: Tables) -> dict[tuple[str, str], Ramp]:
    """Signs of a cause itself, by sign and cause group."""
    rows = tables.rows("cause_signs.csv", ("sign", "cause", "dry", "soaked", "middle", "width"))
    return {
        (row.text("sign"), row.text("cause")): Ramp(
            row.number("dry"), row.number("soaked"), row.number("middle"), row.number("width")
        )
        for row in rows
    }


def read_pieces(reader: Reader, records: Iterable[Finding | Reading | Look]) -> list[Piece]:
    """The pieces of all records before damping; raises BadInput with the problems of every record at once."""
    pieces: list[Piece] = []
    problems: list[Problem] = []
    for record in _said_once(records):
        try:
            if isinstance(record, Finding):
                pieces += reader.finding(record)
            else:
                pieces += reader.look(record) if isinstance(record, Look) else reader.reading(record)
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return pieces


def _said_once(records: Iterable[Finding | Reading | Look]) -> list[Finding | Reading | Look]:
    """The records without findings that say again what was said: of those that differ in note and quality alone, the one of the
    best quality, one not stated before any other. A button pressed twice, or a seller who repeats himself, is one voice."""
    kept: dict[object, Finding | Reading | Look] = {}
    for number, record in enumerate(records):
        key: object = number
        if isinstance(record, Finding):
            key = replace(record, quality=None, measured=False, note="", where="", replaces=None)
            before = kept.get(key)
            if isinstance(before, Finding) and _quality(before) >= _quality(record):
                continue
        kept[key] = record
    return [*kept.values()]


def _quality(record: Finding) -> float:
    return 1.0 if record.quality is None else record.quality


def combine(plan: Plan, network: Network, pieces: Iterable[Piece], extra: Evidence | None = None) -> Evidence:
    """The evidence of all pieces together, with what the answers said (`extra`) on top."""
    logs: dict[int, Array] = {}
    groups: dict[int, list[Ramp]] = {}
    families: dict[int, list[Ramp]] = {}
    for piece in pieces:
        z = plan.index[piece.zone]
        if piece.ramp is not None:
            ramp = replace(piece.ramp, power=piece.power)
            groups.setdefault(int(network.group_of[z]), []).append(ramp)
            families.setdefault(int(network.family_of[z]), []).append(ramp)
        elif piece.power > 0:
            logs[z] = logs[z] + piece.said if z in logs else piece.said
    repair = None
    if extra is not None:
        for z, likelihood in extra.zones.items():
            said = np.log(likelihood)
            logs[z] = logs[z] + said if z in logs else said
        for group, ramps in extra.groups.items():
            groups.setdefault(group, []).extend(ramps)
        repair = extra.repair
    rows = np.array([*logs.values()]).reshape(-1, 6)
    return Evidence(dict(zip(logs, np.exp(rows - rows.max(axis=1, keepdims=True)), strict=True)), groups, families, repair)


def _soft(chance: Array, belief: float) -> Array:
    """Likelihood when the sign of this row was seen with probability `belief`, (6,)."""
    return belief * chance + (1 - belief) * (1 - chance)


def _in_words(id: str) -> str:
    """The name of a sign or of a kind of reading as people read it: "door gap", not "door-gap"."""
    return id.replace("-", " ")
