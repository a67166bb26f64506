"""Pictures that look alike, in words: remarks for a person to look at, since two pictures may be alike for good reasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from weldworth.core.remark import Remark

WITHIN = {
    "same": "looks the same as {other}; it counts once",
    "mirrored": "looks like {other} mirrored; left and right may be mixed up",
    "part": "looks like a part of {other}, or the other way round; it counts once",
}
"""How a picture repeats an earlier one of the same candidate -> the words."""
ACROSS = {
    "file": "is the same file as {other} of {candidate}; ask which vehicle it shows",
    "same": "looks the same as {other} of {candidate}; ask which vehicle it shows",
    "mirrored": "looks like {other} of {candidate} mirrored; ask which vehicle it shows",
    "part": "looks like a part of {other} of {candidate}, or the other way round; ask which vehicle it shows",
    "place": "shows the same place or object as {other} of {candidate}; the same yard or seller may be the reason",
}
"""How a picture is like one of another candidate -> the words, the closest likeness first."""
_CLOSEST = tuple(ACROSS)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A picture of another candidate that one is like. how : a key of ACROSS. picture : its name there."""

    how: str
    candidate: str
    picture: str


def elsewhere_remarks(name: str, found: Sequence[Elsewhere], names: Mapping[str, str]) -> list[Remark]:
    """A remark on the picture `name` for each other candidate, about the closest picture there. names : candidate -> its name."""
    best: dict[str, Elsewhere] = {}
    for one in found:
        known = best.get(one.candidate)
        if known is None or _CLOSEST.index(one.how) < _CLOSEST.index(known.how):
            best[one.candidate] = one
    return [
        Remark("alike-elsewhere", name, ACROSS[one.how].format(other=one.picture, candidate=names.get(one.candidate, "another")))
        for one in best.values()
    ]
