"""Known words, and the nearest one to a word that is not known."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like `word`, or None when none comes close.

    >>> nearest("pu.rocker.iner.l", ["pu.rocker.inner.l", "pu.rocker.outer.l"])
    'pu.rocker.inner.l'
    """
    choices = list(known)
    lower = {choice.lower(): choice for choice in choices}
    found = difflib.get_close_matches(word.lower(), list(lower), n=1, cutoff=0.5)
    return lower[found[0]] if found else None


def unknown(kind: str, word: str, known: Iterable[str]) -> str:
    """The sentence for a word that is not known: names it and the nearest known one, or lists the choices.

    >>> unknown("sign", "bubling", ["bubbling", "hole"])
    "sign 'bubling' is not known here; nearest: 'bubbling'"
    """
    choices = sorted(known)
    best = nearest(word, choices)
    if best is not None:
        return f"{kind} {word!r} is not known here; nearest: {best!r}"
    listed = ", ".join(choices[:12]) + (", ..." if len(choices) > 12 else "")
    return f"{kind} {word!r} is not known here; use one of: {listed}"
