"""The languages of what strangers read: texts from the catalogues in words/, chosen by the browser's wish."""

from __future__ import annotations

import io
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from babel import Locale, negotiate_locale
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.support import NullTranslations, Translations

FOLDER = Path(__file__).parent / "words"
SOURCE = "en"
"""The language that the texts are written in."""


@cache
def languages() -> Mapping[str, str]:
    """Tag of each language that there is -> its own name for itself; the first is the one that texts are written in."""
    tags = [SOURCE, *sorted(path.stem for path in FOLDER.glob("*.po"))]
    return MappingProxyType({tag: (Locale.parse(tag).get_language_name(tag) or tag).capitalize() for tag in tags})


@cache
def words(language: str) -> NullTranslations:
    """The catalogue of a language; what it lacks stays as it is written."""
    if language == SOURCE:
        return NullTranslations()
    with (FOLDER / f"{language}.po").open("rb") as file:
        catalogue = read_po(file, locale=language)
    made = io.BytesIO()
    write_mo(made, catalogue)
    made.seek(0)
    return Translations(made)


def direction(language: str) -> str:
    """ "ltr" or "rtl": the way in which the language is written."""
    return str(Locale.parse(language).text_direction)


def chosen(given: str | None, wishes: str | None) -> str:
    """The language of a page. given : asked for by name. wishes : the browser's Accept-Language (RFC 9110, 12.5.4).

    >>> chosen(None, "fr;q=0.5, en;q=0.3"), chosen("xx", None)
    ('en', 'en')
    """
    if given in languages():
        return str(given)
    order = [tag for _, tag in sorted(_weighted(wishes or ""), reverse=True)]
    return negotiate_locale(order, list(languages()), sep="-") or SOURCE


def _weighted(wishes: str) -> list[tuple[tuple[float, int], str]]:
    found = []
    for place, one in enumerate(wishes.split(",")[:20]):
        tag, _, rest = one.strip().partition(";")
        try:
            weight = float(rest.strip().removeprefix("q=")) if rest else 1.0
        except ValueError:
            weight = 0.0
        if tag.strip() not in ("", "*") and weight > 0:
            found.append(((weight, -place), tag.strip()))
    return found
