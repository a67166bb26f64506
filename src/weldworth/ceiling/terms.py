"""The shop's own terms for a deal: what selling costs, what it wants to earn, what chance of loss it takes."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from weldworth.ceiling.amounts import parse_money, parse_share
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.tables.load import Tables

SaleKind = Literal["auction", "asked"]
OthersSee = Literal["less", "same", "more"]
SALE_KINDS: Final = ("auction", "asked")
OTHERS_SEE: Final = ("less", "same", "more")


@dataclass(frozen=True, slots=True)
class DealTerms:
    """The terms of one deal; money in `currency`, shares from 0 to 1.

    selling_cost : share of the resale price.   margin : wanted profit as a share of all money put in, and
    margin_least : as an amount; the greater of the two holds.   chance_of_loss : highest accepted.
    tax : on price and buyer's fee.   bidders : others who bid seriously; None takes bidders_auction or bidders_asked
    by the kind of sale.   resolved_share : share of the shop's own spread that those others resolve by themselves,
    from `others_see`.
    """

    selling_cost: float
    margin: float
    margin_least: float
    chance_of_loss: float
    holding_months: float
    holding_per_month: float
    mechanical_reserve: float
    tax: float
    title_cost: float
    currency: str
    bidders_auction: int
    bidders_asked: int
    others_see: OthersSee
    resolved_share: float
    bidders: int | None = None

    @property
    def holding(self) -> float:
        """Storage, insurance and capital from buying to being paid."""
        return self.holding_months * self.holding_per_month

    @property
    def fixed_costs(self) -> float:
        """What every deal costs beside price, fee, tax, repair and transport: holding, reserve and title."""
        return self.holding + self.mechanical_reserve + self.title_cost

    def rivals(self, sale_kind: SaleKind) -> int:
        """How many others bid seriously: as said for this deal, else the table's guess for the kind of sale."""
        if self.bidders is not None:
            return self.bidders
        return self.bidders_auction if sale_kind == "auction" else self.bidders_asked


def _months(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 <= value <= 120:
        raise ValueError(f"is {value!r}; give months from 0 to 120")
    return float(value)


def _count(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 1000:
        raise ValueError(f"is {value!r}; give a whole number from 0 to 1000")
    return value


def _currency(value: object) -> str:
    if not isinstance(value, str) or re.fullmatch(r"[A-Z]{3}", value) is None:
        raise ValueError(f"is {value!r}; give three capital letters such as USD")
    return value


def _sees(value: object) -> OthersSee:
    for known in OTHERS_SEE:
        if value == known:
            return known
    raise ValueError(f"is {value!r}; " + unknown("word", str(value), OTHERS_SEE))


_READERS: Final[dict[str, Callable[[object], object]]] = {
    "selling_cost": parse_share,
    "margin": parse_share,
    "margin_least": parse_money,
    "chance_of_loss": parse_share,
    "holding_months": _months,
    "holding_per_month": parse_money,
    "mechanical_reserve": parse_money,
    "tax": parse_share,
    "title_cost": parse_money,
    "currency": _currency,
    "bidders_auction": _count,
    "bidders_asked": _count,
    "others_see": _sees,
    "bidders": _count,
}
DEAL_KEYS: Final = frozenset(_READERS)
_WHOLE: Final = {"bidders_auction", "bidders_asked"}
_WORDS: Final = {"currency", "others_see"}


def deal_terms_from(overrides: Mapping[str, object], tables: Tables, where: str = "candidate.toml: shop") -> DealTerms:
    """The shop's terms: the defaults of deal.csv with `overrides` laid over them; DEAL_KEYS lists the keys.

    Shares may be numbers (0.2) or text ("20 %"), money numbers or text ("2,500").
    Raises BadInput with every problem found: unknown keys with the nearest known one, values out of range.
    """
    shipped, shares = _shipped(tables)
    values: dict[str, object] = dict(shipped)
    problems = []
    for key, value in overrides.items():
        if key not in _READERS:
            problems.append(Problem(where, unknown("key", key, DEAL_KEYS)))
            continue
        try:
            values[key] = _READERS[key](value)
        except ValueError as error:
            problems.append(Problem(where, f"{key} {error}"))
    if problems:
        raise BadInput(problems)
    values["resolved_share"] = shares[str(values["others_see"])]
    return DealTerms(**values)  # type: ignore[arg-type]  # each value was read by the reader of its key


def _shipped(tables: Tables) -> tuple[dict[str, object], dict[str, float]]:
    """The values of deal.csv by name, and the resolved share by what the others see."""
    rows = {row.text("name"): row for row in tables.rows("deal.csv", ("name", "value", "meaning"))}
    wanted = (DEAL_KEYS - {"bidders"}) | {f"share_{word}" for word in OTHERS_SEE}
    problems = [Problem("deal.csv", f"there is no row {name!r}") for name in sorted(wanted - rows.keys())]
    problems += [Problem(rows[name].where, unknown("name", name, wanted)) for name in sorted(rows.keys() - wanted)]
    if problems:
        raise BadInput(problems)
    values: dict[str, object] = {}
    for name in sorted(DEAL_KEYS - {"bidders"}):
        row = rows[name]
        raw: object = row.text("value") if name in _WORDS else row.number("value", low=0)
        if name in _WHOLE and isinstance(raw, float) and raw.is_integer():
            raw = int(raw)
        try:
            values[name] = _READERS[name](raw)
        except ValueError as error:
            problems.append(Problem(row.where, f"{name} {error}"))
    if problems:
        raise BadInput(problems)
    shares = {word: rows[f"share_{word}"].number("value", low=0, high=1) for word in OTHERS_SEE}
    if not shares["less"] <= shares["same"] <= shares["more"]:
        raise BadInput([Problem(rows["share_same"].where, "the shares must not fall from less to same to more")])
    return values, shares
