"""What storage, ground, winters, coatings and use do to the loss: the trade's multipliers, from exposure_multipliers.csv."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from weldworth.exposure.history import Residence
from weldworth.tables.load import Tables

CHANNELS_WITH_CUES = ("bottom", "top", "floor")
GROUND_COUNTS = ("outside", "carport", "garage", None)
"""Storages under which the ground is felt; a barn and a heated garage have it in their own word. None: storage not told."""
IN_THE_OPEN = ("outside", "carport", None)

Factors = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Cue:
    """One multiplier at work: what it is, its factor for each channel of CHANNELS_WITH_CUES, [-]."""

    name: str
    factors: Factors


def read_cues(tables: Tables) -> dict[str, dict[str, Factors]]:
    """Kind -> word -> channel -> factor, [-]."""
    found: dict[str, dict[str, Factors]] = {}
    for row in tables.rows("exposure_multipliers.csv", ("kind", "cue", *CHANNELS_WITH_CUES, "meaning")):
        factors = {channel: row.number(channel, low=0.01, high=20.0) for channel in CHANNELS_WITH_CUES}
        found.setdefault(row.text("kind"), {})[row.text("cue")] = factors
    return found


def known_words(cues: Mapping[str, Mapping[str, Factors]]) -> dict[str, list[str]]:
    """Kind -> the words that may be given; "unknown" is for saying nothing."""
    return {kind: [word for word in words if word != "unknown"] for kind, words in cues.items()}


def steady_cues(residence: Residence, cues: Mapping[str, Mapping[str, Factors]], roof: float, *, wet: bool) -> list[Cue]:
    """The multipliers of a residence that hold in each of its years.

    roof : exponent of a storage factor below 1: how much a roof can save there, 1 in wet climates, less in dry ones, [-].
    wet : years in which it came home wet and salty, so that a warm garage does harm.
    """
    storage = residence.storage or "unknown"
    kind = "wet-garage" if wet and storage in cues["wet-garage"] else "storage"
    factors = {channel: factor**roof if factor < 1 else factor for channel, factor in cues[kind][storage].items()}
    found = [Cue(f"storage {storage}", factors)]
    ground = residence.ground or ("unknown" if residence.storage in ("outside", "carport") else None)
    if ground is not None and residence.storage in GROUND_COUNTS:
        found.append(Cue(f"ground {ground}", cues["ground"][ground]))
    for kind, word in (("coating", residence.coating), ("use", residence.use), ("interior", residence.interior)):
        if word is not None:
            found.append(Cue(f"{kind} {word}", cues[kind][word]))
    if residence.roof is not None and residence.storage in IN_THE_OPEN:
        found.append(Cue(f"roof {residence.roof}", cues["roof"][residence.roof]))
    return found
