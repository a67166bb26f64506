"""What the belief will make of a result, given what is recorded of the zone already.

A result adds to the evidence what `belief.damping` leaves of it beside what is there, and may weaken that. Its likelihood is then
another than the table's, and such likelihoods are no partition: in general no weights make them sum to 1 in every condition. So
each result that tells is foretold with the likelihood that the belief will take, as often as the table and the belief of now say,
and "nothing that tells" is what is left. Where nothing is damped this is the table itself.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from weldworth.belief.believe import Belief
from weldworth.belief.damping import added
from weldworth.belief.looking import PROBED, Probed, words_of
from weldworth.belief.network import Array
from weldworth.belief.pieces import Piece, probe_piece, words_for
from weldworth.belief.sight import Lexicon, Source, probe_sets
from weldworth.vehicle.plan import Zone

NOTHING = 1
"""The row of every table of looks that says: nothing that tells."""


class Recorded:
    """The evidence of a belief by zone, to foretell what one thing more would add."""

    def __init__(self, belief: Belief, lex: Lexicon) -> None:
        self._belief, self._lex = belief, lex
        self._pieces: dict[str, list[Piece]] = {}
        for piece in belief.pieces:
            self._pieces.setdefault(piece.zone, []).append(piece)
        self._kinds = {(piece.zone, piece.kind) for piece in belief.pieces}

    def knows(self, zone: str, kind: str) -> bool:
        """Whether evidence of a kind is recorded at a zone."""
        return (zone, kind) in self._kinds

    def adds(self, *new: Piece) -> Array:
        """Log-likelihood that pieces of one kind would add at their zone, (6,)."""
        there = self._pieces[new[0].zone] if self.knows(new[0].zone, new[0].kind) else ()
        return added(self._belief.plan, there, new, self._lex.damping)

    def sign(self, zone: Zone, sign: str, source: Source, likelihood: Array) -> Array:
        """The likelihood that a sign with `likelihood`, (6,), will count with at a zone, (6,)."""
        kind = self._lex.signs[sign].kind
        if not self.knows(zone.id, kind):
            return likelihood
        return np.exp(self.adds(Piece("", zone.id, words_for(sign, source), kind, np.log(likelihood), by=source.kind)))

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
        sets = probe_sets(self._lex, source.exposed)
        words = words_of(PROBED)
        rest = [n for n in range(len(words)) if n != NOTHING]
        taken = []
        for n in rest:
            signs = [Probed("foretold", sign, absent, sets) for sign, absent in words[n]]
            taken.append(np.exp(self.adds(*(probe_piece("", zone, source, one) for one in signs))))
        return self._partition(zone, chances, rest, taken)

    def _partition(self, zone: Zone, table: Array, rest: Sequence[int], taken: Sequence[Array]) -> Array:
        """`taken`, each as often as its row of `table` by what is believed, or all of them rarer by what is too much in some
        condition; what is left is nothing that tells."""
        believed = self._belief.zones[self._belief.plan.index[zone.id]]
        likelihood = np.array(taken)
        usual = likelihood * ((table[rest] @ believed) / (likelihood @ believed))[:, None]
        usual /= max(1.0, float(usual.sum(axis=0).max()))
        found = np.empty_like(table)
        found[rest], found[NOTHING] = usual, np.maximum(1 - usual.sum(axis=0), 0.0)
        return found
