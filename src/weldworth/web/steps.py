"""A link's asks as the seller's page shows them: one step each, drawn, in the seller's language where there are texts in it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from weldworth.asks.rank import GAUGES, UNDERNEATH
from weldworth.core.errors import NotFound
from weldworth.drawings.shelf import ask as pictogram
from weldworth.evidence.questions import questions
from weldworth.picture.quality import scales
from weldworth.tables import Tables
from weldworth.vehicle.plan import Plan, Zone
from weldworth.web.sayings import ANSWERS, IN_WORDS
from weldworth.workbench.links import answers_by_ask
from weldworth.workbench.ports import Receipt
from weldworth.workbench.recording import READING_UNITS

Say = Callable[[str], Markup]
_SHOT = re.compile(r"Picture \d+: ")
_HERE = re.compile(r"^(.*?)(?: Here: (.*))?$", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture of a step. drawing : where to stand and what to frame, or "" where it is not drawn. how, here : in words."""

    drawing: Markup
    how: Markup
    here: Markup


@dataclass(frozen=True, slots=True)
class Step:
    """One ask. state : open, again (a picture came that shows too little), taken or cannot. faults : of the last picture.

    measures : what is measured -> the units that it may be given in. answers : id -> words of a question. wordy : best
    answered in own words.
    """

    key: str
    kind: str
    title: Markup
    side: str
    move: Markup
    shots: tuple[Shot, ...]
    caution: str
    answers: tuple[tuple[str, Markup], ...]
    measures: Mapping[str, tuple[str, ...]]
    state: str
    faults: tuple[str, ...]
    wordy: bool = False


def sayer(gettext: Callable[[str], str], source: str, language: str) -> Say:
    """Says a text of the tables in the page's language, or marks it as being in the language in which it was written."""

    def say(text: str) -> Markup:
        if not text:
            return Markup("")
        found = gettext(text)
        if language == source or found != text:
            return escape(found)
        return Markup('<span lang="{}" dir="ltr">{}</span>').format(source, text)

    return say


def steps_of(keys: Sequence[str], plan: Plan, receipts: Sequence[Receipt], tables: Tables, say: Say) -> list[Step]:
    """The steps of a page, in the order of the link. What the plan or the tables no longer know is left out."""
    taken, found = answers_by_ask(receipts), []
    for key in keys:
        kind, _, id = key.partition(":")
        state, faults = state_of(taken.get(key, ()))
        if kind == "picture" and id in plan.index:
            found.append(_picture(key, plan, plan.zone(id), state, faults, say))
        elif kind == "question" and id in questions(tables):
            asked = questions(tables)[id]
            answers = tuple(
                (answer, say(own)) for answer, words in asked.answers.items() if (own := ANSWERS.get((id, answer), words))
            )
            found.append(
                Step(key, kind, say(asked.text), "", Markup(""), (), asked.caution, answers, {}, state, faults, id in IN_WORDS)
            )
        elif kind == "reading":
            step = _reading(key, plan, id, state, faults, say)
            found += [step] if step else []
    return found


def state_of(receipts: Sequence[Receipt]) -> tuple[str, tuple[str, ...]]:
    """What became of an ask: its state, and the faults of its last picture."""
    state = "open"
    faults: tuple[str, ...] = ()
    for one in receipts:
        if one.kind == "picture":
            state = "taken" if one.reply.get("usable") or state == "taken" else "again"
            given = one.reply.get("faults")
            faults = tuple(str(fault) for fault in given) if isinstance(given, list) else ()
        elif one.kind in ("answer", "reading", "keep"):
            state = "taken"
        elif one.kind == "cannot" and state != "taken":
            state = "cannot"
    return state, faults


def _picture(key: str, plan: Plan, zone: Zone, state: str, faults: tuple[str, ...], say: Say) -> Step:
    texts = [text.strip() for text in _SHOT.split(zone.photo) if text.strip()]
    shots = tuple(_shot(plan.body, zone.id, number, text, say) for number, text in enumerate(texts, 1))
    move = Markup("") if zone.uncover.startswith("none") else say(zone.uncover)
    underneath = zone.station == "underneath" or zone.photo_underneath
    caution = UNDERNEATH if underneath else ""
    return Step(key, "picture", say(zone.name), zone.side, move, shots, caution, (), {}, state, faults)


def _shot(body: str, zone: str, number: int, text: str, say: Say) -> Shot:
    matched = _HERE.match(text)
    how, here = matched.groups() if matched else (text, None)
    try:
        drawing = Markup(pictogram(body, zone, number))
    except NotFound:
        drawing = Markup("")
    return Shot(drawing, say(how), say(here or ""))


def _reading(key: str, plan: Plan, id: str, state: str, faults: tuple[str, ...], say: Say) -> Step | None:
    """A door gap, or what a gauge measures at a zone where the plan's probe calls for one; None for anything else."""
    place = next((one for one in plan.places if one.id == id and one.kind == "door-gap"), None)
    if place is not None:
        how = (Shot(Markup(""), say(place.photo), Markup("")),)
        measures = {"door-gap": READING_UNITS["door-gap"]}
        return Step(key, "reading", say(place.name), "", Markup(""), how, "", (), measures, state, faults)
    if id not in plan.index:
        return None
    zone = plan.zone(id)
    kinds = [kind for kind, word, _ in GAUGES if word in zone.probe.lower()]
    if not kinds:
        return None
    shots = tuple(Shot(Markup(""), say(WITH_A_GAUGE[kind]), Markup("")) for kind in kinds)
    caution = UNDERNEATH if zone.station == "underneath" else ""
    measures = {kind: READING_UNITS[kind] for kind in kinds}
    return Step(key, "reading", say(zone.name), zone.side, Markup(""), shots, caution, (), measures, state, faults)


WITH_A_GAUGE: Mapping[str, str] = {
    "coating": "With a coating gauge: measure in three spots, one of them low down, and give the highest.",
    "wall": "With an ultrasonic gauge: measure where the metal is lowest, and give the thinnest.",
}
"""Kind of reading -> how the seller takes it."""


def too_dark(tables: Tables) -> float:
    """Mean grey level, 0..255, below which a picture is called dark: where the factor of light falls below `named`."""
    scale = scales(tables)
    named = scale.factor("named", 1)
    return next((float(level) for level in range(256) if scale.factor("light", level) >= named), 0.0)


FAULTS: Mapping[str, tuple[str, str]] = {
    "dark": (
        "Too dark to see the edge of the metal.",
        "Flash on, and closer; or step round so that the light comes from behind you.",
    ),
    "sharp": ("Blurred.", "Hold the phone with both hands, tap the metal on the screen and wait until it is sharp."),
    "bright": ("Too bright.", "Tap the brightest part on the screen, or step out of the sun's way."),
    "glare": ("Glare hides part of it.", "Step half a pace aside, or switch the flash off and hold a lamp low to one side."),
    "pixels": ("Too small to see fine rust.", "Step closer until it fills the frame."),
    "saved": ("Squeezed on its way, so that fine rust is lost.", "Use the camera itself, not a picture from a chat."),
}
"""Fault of a picture -> what is wrong, what to do."""
