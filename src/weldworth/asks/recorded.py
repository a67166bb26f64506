"""What the belief will make of a result, given what is recorded of the zone already.

A result adds to the evidence what `belief.damping` leaves of it beside what is there, and may weaken that. Its likelihood is then
another than the table's, and such likelihoods are no partition: in general no weights make them sum to 1 in every condition. So
each result that tells is foretold with the likelihood that the belief will take, as often as the table and the belief of now say,
and "nothing that tells" is what is left. Where nothing is damped this is the table itself.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from weldworth.belief.believe import Belief
from weldworth.belief.damping import beside, left
from weldworth.belief.looking import PROBED, Probed, words_of
from weldworth.belief.network import Array
from weldworth.belief.pieces import MACHINE, Piece, probe_piece, words_for
from weldworth.belief.sight import Lexicon, Source, probe_sets
from weldworth.vehicle.plan import Zone

NOTHING = 1
"""The row of every table of looks that says: nothing that tells."""


@dataclass(frozen=True)
class _There:
    """Pieces at one zone that one more of a kind is damped with, what they add now, (6,), and what they say, zone apart."""

    pieces: Sequence[Piece]
    adds: Array
    says: Hashable


class Recorded:
    """The evidence of a belief by zone, to foretell what one thing more would add."""

    def __init__(self, belief: Belief, lex: Lexicon) -> None:
        self._belief, self._lex = belief, lex
        self._pieces: dict[str, list[Piece]] = {}
        for piece in belief.pieces:
            self._pieces.setdefault(piece.zone, []).append(piece)
        self._kinds = {(piece.zone, piece.kind) for piece in belief.pieces}
        self._there: dict[tuple[str, str], _There] = {}
        self._taken: dict[Hashable, Array] = {}

    def knows(self, zone: str, kind: str) -> bool:
        """Whether evidence of a kind is recorded at a zone."""
        return (zone, kind) in self._kinds

    def adds(self, *new: Piece) -> Array:
        """Log-likelihood that pieces of one kind by a person would add to the evidence of their zone, (6,)."""
        plan, damping = self._belief.plan, self._lex.damping
        if not self.knows(new[0].zone, new[0].kind):
            return left(plan, new, damping)
        there = self._beside(new[0].zone, new[0].kind)
        return left(plan, [*there.pieces, *new], damping) - there.adds

    def _beside(self, zone: str, kind: str) -> _There:
        if (zone, kind) not in self._there:
            pieces = beside(self._pieces[zone], kind)
            says = tuple(map(_says, pieces))
            self._there[zone, kind] = _There(pieces, left(self._belief.plan, pieces, self._lex.damping), says)
        return self._there[zone, kind]

    def sign(self, zone: Zone, sign: str, source: Source, likelihood: Array) -> Array:
        """The likelihood that a sign with `likelihood`, (6,), will count with at a zone, (6,)."""
        kind = self._lex.signs[sign].kind
        if not self.knows(zone.id, kind):
            return likelihood
        key = (source.id, sign, likelihood.tobytes(), self._beside(zone.id, kind).says)
        if key not in self._taken:
            one = Piece("", zone.id, words_for(sign, source), kind, np.log(likelihood), by=source.kind)
            self._taken[key] = np.exp(self.adds(one))
        return self._taken[key]

    def picture(self, zone: Zone, shown: Array, signs: Sequence[str]) -> Array:
        """P(the worst that a picture shows | condition) as the belief will take it, (n, 6), columns sum to 1.

        shown : the table, "nothing that tells" in row `NOTHING`. signs : what each other row is recorded as, (n - 1,).
        """
        if not any(self.knows(zone.id, self._lex.signs[sign].kind) for sign in signs):
            return shown
        rest = [n for n in range(len(shown)) if n != NOTHING]
        asked = self._lex.sources["asked-picture"]
        taken = [self.sign(zone, sign, asked, shown[n]) for n, sign in zip(rest, signs, strict=True)]
        return self._partition(zone, shown, rest, taken)

    def probe(self, zone: Zone, source: Source, chances: Array) -> Array:
        """P(the worst that probing reports | condition) as the belief will take it, (5, 6), columns sum to 1.

        chances : the table, as `outcomes.probe_chances` of the source.
        """
        if not self.knows(zone.id, "probe"):
            return chances
        rest = [n for n in range(len(chances)) if n != NOTHING]
        key = (source.id, self._beside(zone.id, "probe").says)
        if key not in self._taken:
            self._taken[key] = self._probed(zone, source)
        return self._partition(zone, chances, rest, self._taken[key][rest])

    def _probed(self, zone: Zone, source: Source) -> Array:
        """The likelihood that each result of probing a zone will count with, (5, 6)."""
        sets = probe_sets(self._lex, source.exposed)
        looks = [[Probed("foretold", sign, absent, sets) for sign, absent in words] for words in words_of(PROBED)]
        return np.exp([self.adds(*(probe_piece("", zone, source, one) for one in look)) for look in looks])

    def _partition(self, zone: Zone, table: Array, rest: Sequence[int], taken: ArrayLike) -> Array:
        """`taken`, each as often as its row of `table` by what is believed, or all of them rarer by what is too much in some
        condition; what is left is nothing that tells."""
        believed = self._belief.zones[self._belief.plan.index[zone.id]]
        likelihood = np.array(taken)
        usual = likelihood * ((table[rest] @ believed) / (likelihood @ believed))[:, None]
        usual /= max(1.0, float(usual.sum(axis=0).max()))
        found = np.empty_like(table)
        found[rest], found[NOTHING] = usual, np.maximum(1 - usual.sum(axis=0), 0.0)
        return found


def _says(piece: Piece) -> Hashable:
    """All that damping goes by in a piece, but for its zone. The record matters for the machine's alone: one eye."""
    look = (piece.probed.look, piece.probed.sign, piece.probed.absent) if piece.probed else None
    return piece.kind, piece.text, piece.by, piece.where if piece.by == MACHINE else "", look, piece.log_likelihood.tobytes()
