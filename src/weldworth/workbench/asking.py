"""What may still be asked about a candidate, judged when it is first wanted: a page that shows no asks does not wait for them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from weldworth.asks.ask import Ask
from weldworth.asks.rank import Askable, Ranking, askable, judged, rank
from weldworth.asks.worth import Decision
from weldworth.belief.believe import Belief
from weldworth.belief.draws import Draws
from weldworth.belief.sight import lexicon
from weldworth.tables import Tables


@dataclass(frozen=True, eq=False)
class Asking:
    """All that asks are judged by. decision : on the draws. spread : see `Exposure.spread`. answered : questions that need not be
    put again. refused : zones and questions that were asked for and not given. most : at most so many are chosen together."""

    belief: Belief
    draws: Draws
    decision: Decision
    tables: Tables
    spread: float
    answered: tuple[str, ...]
    refused: tuple[str, ...]
    most: int
    seed: int

    @cached_property
    def askable(self) -> tuple[Askable, ...]:
        """Everything that is still missing, and what it would show; visits are left out."""
        return tuple(self._askable(None))

    @cached_property
    def ranking(self) -> Ranking:
        """All asks, best first. Raises BadInput where a table of asks cannot be used."""
        lex = lexicon(self.tables)
        return rank(self.belief, self.draws, self.decision, self.tables, self.askable, lex=lex, most=self.most, seed=self.seed)

    @property
    def ranked(self) -> list[Askable]:
        """What may be asked, best first, with its worth and what it would show; visits are left out."""
        shown = {(one.ask.kind, one.ask.label): one.observation for one in self.askable}
        return [Askable(ask, shown[(ask.kind, ask.label)]) for ask in self.ranking.asks if (ask.kind, ask.label) in shown]

    def about(self, zone: str) -> list[Ask]:
        """The asks about one zone, as `ranking` has them; where that is not at hand yet they alone are judged."""
        if "ranking" in self.__dict__:
            return [ask for ask in self.ranking.asks if ask.zone == zone]
        return judged(self.decision, self._askable(zone))

    def _askable(self, zone: str | None) -> list[Askable]:
        return askable(
            self.belief,
            self.draws,
            self.tables,
            lex=lexicon(self.tables),
            spread=self.spread,
            answered=self.answered,
            refused=self.refused,
            zone=zone,
        )
