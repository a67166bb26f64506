"""Weighings worked out once and held: found again by what they rest on, summaries kept in the store for the bench."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import cast

from weldworth.asks.ask import Ask, AskSet
from weldworth.asks.outcomes import within_reach
from weldworth.asks.rank import best_set, joint_worths
from weldworth.asks.walk import doubt_of_looks, worth_of_looks
from weldworth.belief.draws import draw
from weldworth.belief.sight import lexicon
from weldworth.bill.summary import Bill, summary
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.words import unknown
from weldworth.exposure.result import Exposure
from weldworth.tables.load import Tables
from weldworth.vehicle.plan import Plan
from weldworth.vehicle.plans import load_plan
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.held import Held
from weldworth.workbench.ledger import Json
from weldworth.workbench.lines import JointWorth, Metal
from weldworth.workbench.summary import key_of_ask
from weldworth.workbench.walk import Walker
from weldworth.workbench.weigh import Weighing, belief_of, exposure_of, repair_of, weigh

HELD = 48
BEST = 5
"""Asks that are chosen together unless told otherwise."""
MOST_TOGETHER = 8
"""Asks that are judged together at most: the joint outcomes grow with each."""


@dataclass(frozen=True, slots=True)
class Basis:
    """All that a weighing rests on. evidence : hash of the last entry that counts. day : on which it is weighed. eye : version of
    the model that looks at pictures, "" where nothing does. unlooked : hashes of pictures that it had no time to look at."""

    candidate: str
    evidence: str
    tables: str
    terms: int
    day: date
    seed: int
    eye: str = ""
    unlooked: tuple[str, ...] = ()

    @property
    def records(self) -> str:
        """The key as far as it does not tell which pictures were looked at."""
        return f"{self.evidence}/{self.tables}/{self.terms}/{self.day.isoformat()}/{self.seed}/{self.eye}"

    @property
    def key(self) -> str:
        """How the weighing is found again."""
        return "/".join((self.records, *self.unlooked))


@dataclass(frozen=True, slots=True)
class LookShares:
    """What looking is worth. shares : zone in reach -> its share, summing to 1. together : of all, money, or None."""

    shares: Mapping[str, float]
    together: float | None
    currency: str


@dataclass(frozen=True)
class Ahead:
    """A weighing worked out before anybody asks for it, with all that the pages show of it. key : of its basis."""

    key: str
    weighing: Weighing
    best: AskSet
    joint: JointWorth


class Weigher:
    """Weighings by what they rest on. Two who ask for the same one at once wait for one computation."""

    def __init__(self, most: int = HELD) -> None:
        self._weighings: Held[Weighing] = Held(most)
        self._metals: Held[Metal] = Held(most)
        self._bills: Held[tuple[Plan, Bill]] = Held(most)
        self._exposures: Held[Exposure] = Held(most)
        self._sets: Held[AskSet] = Held(most)
        self._looks: Held[LookShares] = Held(most)
        self._joints: Held[JointWorth] = Held(most)

    def holds(self, basis: Basis) -> bool:
        """Whether this weighing is at hand."""
        return self._weighings.peek(basis.key) is not None

    def holds_some(self, basis: Basis) -> bool:
        """Whether a weighing of these records is at hand, whichever of their pictures had been looked at."""
        return any(str(key).startswith(basis.records) for key in self._weighings.at_hand())

    def ahead(self, basis: Basis, dossier: Callable[[], Dossier], tables: Tables) -> Ahead:
        """The weighing, its best asks and what those are worth together. Raises BadInput where something is missing."""
        best = self.best(basis, dossier, tables, BEST)
        joint = self.together(basis, dossier, tables, _keys(best.asks))
        return Ahead(basis.key, self.weighing(basis, dossier, tables), best, joint)

    def hold(self, made: Ahead) -> None:
        """Hold what was worked out ahead, the weighing last: once it is there nothing shown of it has to be waited for."""
        self._sets.put((made.key, BEST), made.best)
        self._joints.put((made.key, _keys(made.best.asks)), made.joint)
        self._weighings.put(made.key, made.weighing)

    def at_hand(self, key: str) -> Weighing | None:
        """The weighing of a basis with this key, where it is held."""
        return self._weighings.peek(key)

    def weighing(self, basis: Basis, dossier: Callable[[], Dossier], tables: Tables) -> Weighing:
        """The weighing; its asks are judged when they are first wanted, the best of them together by `best`.

        Raises BadInput where something is missing.
        """

        def work() -> Weighing:
            read = dossier()
            lived, metal = self.exposure(read, tables, basis.day), self._metals.peek(basis.key)
            belief = metal.belief if metal is not None else None
            return weigh(read, tables, today=basis.day, seed=basis.seed, asks=0, exposure=lived, belief=belief)

        return self._weighings.get(basis.key, work)

    def metal(self, basis: Basis, dossier: Callable[[], Dossier], tables: Tables) -> Metal:
        """The metal alone, which needs no money."""

        def work() -> Metal:
            read = dossier()
            vehicle = read.vehicle
            plan = load_plan(vehicle.body, tables, battery_side=vehicle.battery_side, options=vehicle.options)
            exposure = self.exposure(read, tables, basis.day)
            return Metal(plan, exposure, belief_of(read, plan, exposure, tables, basis.day))

        weighing = self._weighings.peek(basis.key)
        if weighing is not None:
            return Metal(weighing.plan, weighing.exposure, weighing.belief)
        return self._metals.get(basis.key, work)

    def bill(self, basis: Basis, dossier: Callable[[], Dossier], tables: Tables) -> tuple[Plan, Bill]:
        """The plan and the bill alone, which need no resale. Raises BadInput where the metal cannot be weighed either."""

        def work() -> tuple[Plan, Bill]:
            read = dossier()
            lived = self.exposure(read, tables, basis.day)
            made = repair_of(read, tables, today=basis.day, seed=basis.seed, exposure=lived)
            return made.plan, summary(made.priced)

        return self._bills.get(basis.key, work)

    def exposure(self, dossier: Dossier, tables: Tables, day: date) -> Exposure:
        """What the vehicle's life did to its metal; the same life is reckoned once a day."""
        year = dossier.vehicle.model_year
        life = (dossier.residences, dossier.built, year, tables.version, day)
        return self._exposures.get(life, lambda: exposure_of(dossier, tables, day))

    def looks(self, basis: Basis, dossier: Callable[[], Dossier], tables: Tables, walker: Walker) -> LookShares:
        """What somebody at the vehicle would learn, zone by zone: in money, or by doubt while no money is known."""

        def work() -> LookShares:
            lex = lexicon(tables)
            try:
                weighing = self.weighing(basis, dossier, tables)
            except BadInput:
                belief = self.metal(basis, dossier, tables).belief
                return LookShares(doubt_of_looks(belief, within_reach(belief.plan, walker.reach)), None, "")
            belief, size = weighing.belief, cast(dict[str, int], tables.toml("decision.toml")["draws"])
            draws = draw(belief.posterior, size["bill"], basis.seed).first(size["asks"])
            zones = within_reach(weighing.plan, walker.reach)
            source = lex.sources[walker.id]
            shares, together = worth_of_looks(belief, zones, source, draws, weighing.asking.decision, lex, basis.seed)
            return LookShares(shares, together, weighing.terms.deal.currency)

        return self._looks.get((basis.key, walker), work)

    def best(self, basis: Basis, dossier: Callable[[], Dossier], tables: Tables, most: int) -> AskSet:
        """The best asks together."""

        def work() -> AskSet:
            asking = self.weighing(basis, dossier, tables).asking
            return best_set(asking.decision, asking.ranked, most)

        return self._sets.get((basis.key, most), work)

    def together(self, basis: Basis, dossier: Callable[[], Dossier], tables: Tables, keys: Sequence[str]) -> JointWorth:
        """What the asks `keys` are worth together. A visit stands for itself and is named in `missing`.

        Raises BadInput for a key that is not to be asked, and for more than can be judged together.
        """
        key = (basis.key, tuple(dict.fromkeys(keys)))
        return self._joints.get(key, lambda: _joint(self.weighing(basis, dossier, tables), keys))


def _keys(asks: Sequence[Ask]) -> tuple[str, ...]:
    return tuple(key_of_ask(ask.kind, ask.zone) for ask in asks)


def _joint(weighing: Weighing, keys: Sequence[str]) -> JointWorth:
    asks = chosen_asks(weighing, keys)
    ranked = {key_of_ask(one.ask.kind, one.ask.zone): one for one in weighing.asking.ranked}
    wanted = [key_of_ask(ask.kind, ask.zone) for ask in asks]
    known = [ranked[key] for key in wanted if key in ranked]
    if len(known) > MOST_TOGETHER:
        raise BadInput([Problem("asks", f"{len(known)} are chosen; {MOST_TOGETHER} are the most that are judged together")])
    worth = joint_worths(weighing.asking.decision, known)[-1] if known else 0.0
    alone, cost = (sum(getattr(one.ask, name) for one in known) for name in ("worth", "cost"))
    return JointWorth(worth, alone, cost, tuple(key for key in wanted if key not in ranked))


def chosen_asks(weighing: Weighing, keys: Sequence[str]) -> list[Ask]:
    """The asks of these keys, in their order; raises BadInput naming every key that is not to be asked."""
    known = {key_of_ask(ask.kind, ask.zone): ask for ask in weighing.ranking.asks}
    problems = [Problem("asks", unknown("ask", key, known)) for key in keys if key not in known]
    if problems:
        raise BadInput(problems)
    return [known[key] for key in dict.fromkeys(keys)]


def with_terms(dossier: Dossier, terms: Mapping[str, object]) -> Dossier:
    """The dossier at the shop's terms, its own overrides over them."""
    return replace(dossier, shop={**terms, **dossier.shop})


def with_changes(dossier: Dossier, changes: Json) -> Dossier:
    """The dossier with further terms over all others; null takes an override away."""
    shop = {**dossier.shop, **changes}
    return replace(dossier, shop={key: value for key, value in shop.items() if value is not None})


def missing_words(error: BadInput | NotFound) -> str:
    """Why a candidate cannot be weighed yet, in one line."""
    return "; ".join(p.text for p in error.problems) if isinstance(error, BadInput) else str(error)
