"""One table of a TOML file, read key by key: every problem is collected, none stops the reading of the rest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import date, datetime
from math import isfinite

from weldworth.ceiling.amounts import parse_money
from weldworth.core.errors import Problem
from weldworth.core.words import nearest, unknown

LONGEST_SHOWN = 60
LONGEST_WORD = 80
EARLIEST_YEAR = 1880


def shown(value: object) -> str:
    """`value` on one line and not too long, for a message."""
    text = str(value).lower() if isinstance(value, bool) else repr(value) if isinstance(value, str | list | dict) else str(value)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 3] + "..."


def spelled(kind: str, word: str, known: Iterable[str]) -> str:
    """The sentence for a word that is not known; a very long one is shown in part and not compared."""
    if len(word) <= LONGEST_WORD:
        return unknown(kind, word, known)
    return f"{kind} {shown(word)} is not known here; {listed(known)}"


def listed(known: Iterable[str]) -> str:
    """The remedy that lists the choices."""
    choices = sorted(known)
    return "use one of: " + ", ".join(choices[:12]) + (", ..." if len(choices) > 12 else "")


class Fields:
    """The keys of one table. Reading gives None where a key is absent or its value is refused; refusals go to `problems`.

    where : file and table or item, such as ``candidate.toml: finding 3``. keys : all that the table may have.
    """

    def __init__(
        self, values: Mapping[str, object], where: str, keys: Iterable[str], problems: list[Problem], today: date
    ) -> None:
        self.values, self.where, self.problems, self.today = values, where, problems, today
        known = list(keys)
        for key in values:
            if key not in known:
                best = nearest(key, known) if len(key) <= LONGEST_WORD else None
                remedy = f"nearest: {best!r}" if best else listed(known)
                self.refuse(f"key {shown(key)} is not known here; {remedy}")

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def refuse(self, text: str) -> None:
        """Record a problem of this table."""
        self.problems.append(Problem(self.where, text))

    def _given(self, key: str, required: bool, remedy: str) -> object | None:
        value = self.values.get(key)
        if value is None and required:
            self.refuse(f"{key} is missing; {remedy}")
        return value

    def text(self, key: str, *, required: bool = False, remedy: str = "give it as text in quotes") -> str | None:
        """Text, not empty; surrounding blanks are dropped."""
        value = self._given(key, required, remedy)
        if value is None:
            return None
        if not isinstance(value, str):
            self.refuse(f"{key} is {shown(value)}; {remedy}")
            return None
        if not value.strip():
            self.refuse(f"{key} is empty; {remedy}" + ("" if required else " or leave the key out"))
            return None
        return value.strip()

    def word(self, key: str, known: Iterable[str], *, required: bool = False, kind: str = "") -> str | None:
        """One of the known words."""
        choices = list(known)
        value = self.text(key, required=required, remedy=listed(choices))
        if value is not None and value not in choices:
            self.refuse(spelled(kind or key, value, choices))
            return None
        return value

    def words(self, key: str) -> tuple[str, ...]:
        """A list of texts, empty when absent."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) and item.strip() for item in value):
            self.refuse(f'{key} is {shown(value)}; give a list of words such as ["one", "two"]')
            return ()
        return tuple(item.strip() for item in value)

    def flag(self, key: str) -> bool:
        """true or false; false when absent."""
        value = self.values.get(key, False)
        if not isinstance(value, bool):
            self.refuse(f"{key} is {shown(value)}; write true or false without quotes")
            return False
        return value

    def number(self, key: str, *, low: float | None = None, high: float | None = None, required: bool = False) -> float | None:
        """A finite number within [low, high]."""
        bounds = "" if low is None else f" from {low:g} to {high:g}" if high is not None else f" of at least {low:g}"
        value = self._given(key, required, f"give a number{bounds}")
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.refuse(f"{key} is {shown(value)}; give a plain number{bounds}, without quotes, signs or commas")
            return None
        try:
            number = float(value)
        except OverflowError:
            number = float("inf")
        if not isfinite(number) or (low is not None and number < low) or (high is not None and number > high):
            self.refuse(f"{key} is {shown(value)}; give a number{bounds}")
            return None
        return number

    def money(self, key: str, *, required: bool = False) -> float | None:
        """An amount of 0 or more: a number, or text such as "8,500"."""
        value = self._given(key, required, "give an amount such as 8500")
        if value is None:
            return None
        try:
            return parse_money(value)
        except (ValueError, OverflowError):
            self.refuse(f'{key} is {shown(value)}; give an amount of 0 or more, such as 8500 or "8,500"')
            return None

    def whole(self, key: str, *, low: int, high: int) -> int | None:
        """A whole number within [low, high]."""
        value = self.values.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            self.refuse(f"{key} is {shown(value)}; give a whole number from {low} to {high}")
            return None
        return value

    def when(self, key: str, *, required: bool = False) -> tuple[date, date] | None:
        """First and last day of a year, month or day that has begun: 1974, "1974-05", 1974-05-20 or the same in quotes."""
        remedy = 'give a year such as 1974, a month such as "1974-05" or a day such as 1974-05-20'
        value = self._given(key, required, remedy)
        if value is None:
            return None
        span = _span(value)
        if span is None or span[0].year < EARLIEST_YEAR:
            self.refuse(f"{key} is {shown(value)}; {remedy}")
            return None
        if span[0] > self.today:
            self.refuse(f"{key} is {shown(value)}, which is in the future; give a day up to {self.today}")
            return None
        return span[0], min(span[1], self.today)

    def day(self, key: str) -> date | None:
        """The day meant; the middle of the year or month where no more is given. Not in the future."""
        span = self.when(key)
        return None if span is None else span[0] + (span[1] - span[0]) / 2

    def moment(self, key: str) -> date | datetime | None:
        """A day, or a day with a time, that may lie ahead."""
        value = self.values.get(key)
        if isinstance(value, str):
            with suppress(ValueError):
                value = date.fromisoformat(value) if len(value) == 10 else datetime.fromisoformat(value)
        if value is None or isinstance(value, date):
            return value
        self.refuse(f"{key} is {shown(value)}; give a day such as 2026-12-05, or with the time, 2026-12-05T18:00:00-06:00")
        return None


def _span(value: object) -> tuple[date, date] | None:
    """First and last day of what is written, or None when it is no date."""
    if isinstance(value, datetime):
        return value.date(), value.date()
    if isinstance(value, date):
        return value, value
    if isinstance(value, bool) or not isinstance(value, int | str):
        return None
    try:
        text = f"{value:04d}" if isinstance(value, int) else value.strip()
        if len(text) == 4:
            return date(int(text), 1, 1), date(int(text), 12, 31)
        if len(text) == 7:
            first = date.fromisoformat(f"{text}-01")
            after = date(first.year + first.month // 12, first.month % 12 + 1, 1)
            return first, date.fromordinal(after.toordinal() - 1)
        if len(text) == 10:
            return date.fromisoformat(text), date.fromisoformat(text)
    except ValueError:
        return None
    return None
