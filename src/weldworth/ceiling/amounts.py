"""Amounts of money and shares as people write them: "$7,500", "10k", "5 %"."""

from __future__ import annotations

import re
from math import isfinite
from typing import Final

SIGNS: Final = "$€£¥"
NUMBER: Final = r"(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?"
_AMOUNT = re.compile(rf"(?P<number>{NUMBER})\s*(?P<thousands>k)?", re.IGNORECASE)
CURRENCY = re.compile(rf"[{re.escape(SIGNS)}]|\b(?:USD|EUR|GBP|CAD|AUD|NZD|CHF|SEK|NOK|DKK|JPY|MXN|ZAR)\b", re.IGNORECASE)


def parse_amount(text: str) -> float:
    """An amount of money: a currency sign or code is dropped, commas part thousands, "k" means a thousand.

    >>> [parse_amount(text) for text in ("$7,500", "250", "10k", "1,234.50 USD")]
    [7500.0, 250.0, 10000.0, 1234.5]

    Raises ValueError saying what works: for "7.500" too, which may mean 7,500 or 7.50.
    """
    bare = CURRENCY.sub("", text.strip()).replace("\u00a0", " ").strip()
    found = _AMOUNT.fullmatch(bare)
    if found is None:
        raise ValueError(f"{text.strip()!r} is not an amount; write it like 7,500 or 7500.00")
    number = found["number"]
    if re.search(r"\.\d{3}$", number) and found["thousands"] is None:
        raise ValueError(f"{text.strip()!r} can be read two ways; write {number.replace('.', ',')} or {number[:-1]}")
    return float(number.replace(",", "")) * (1000.0 if found["thousands"] else 1.0)


def currency_signs(text: str) -> frozenset[str]:
    """The currency signs and codes written in `text`.

    >>> sorted(currency_signs("€ 7,500")), sorted(currency_signs("7,500"))
    (['€'], [])
    """
    return frozenset(found.upper() for found in CURRENCY.findall(text))


def parse_share(value: object) -> float:
    """A share between 0 and 1 from a number (0.2) or a percentage as text ("20 %").

    >>> parse_share(0.2), parse_share("20 %")
    (0.2, 0.2)

    Raises ValueError for 20 alone, which may be meant as 20 of 100.
    """
    if isinstance(value, str):
        found = re.fullmatch(r"(-?\d+(?:\.\d+)?)\s*(%?)", value.strip())
        if found is None:
            raise ValueError(f"is {value!r}; give a share such as 0.2 or '20 %'")
        share = float(found[1]) / (100.0 if found[2] else 1.0)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        share = float(value)
    else:
        raise ValueError(f"is {value!r}; give a share such as 0.2 or '20 %'")
    if not isfinite(share) or not 0.0 <= share < 1.0:
        raise ValueError(f"is {value!r}; give a share from 0 to below 1, such as 0.2 or '20 %'")
    return share


def parse_money(value: object) -> float:
    """Money of 0 or more from a number or from text such as "2,500"; raises ValueError saying what works.

    >>> parse_money("2,500"), parse_money(300)
    (2500.0, 300.0)
    """
    if isinstance(value, str):
        try:
            return parse_amount(value)
        except ValueError as error:
            raise ValueError(f"is {error}") from None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value) or value < 0:
        raise ValueError(f"is {value!r}; give an amount of 0 or more")
    return float(value)
