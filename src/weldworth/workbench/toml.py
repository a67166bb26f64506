"""Tables as TOML text: what `tomllib` reads back the same."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(data: Mapping[str, object]) -> str:
    """The document: each table as [name], each list of tables as [[name]] items.

    >>> print(toml_text({"sale": {"kind": "asked", "price": 8500}, "answer": [{"question": "fuel", "answer": "old"}]}), end="")
    [sale]
    kind = "asked"
    price = 8500
    <BLANKLINE>
    [[answer]]
    question = "fuel"
    answer = "old"
    """
    blocks = []
    for name, value in data.items():
        if isinstance(value, Mapping):
            blocks.append(f"[{_key(name)}]\n" + _lines(value))
        elif isinstance(value, list):
            blocks += [f"[[{_key(name)}]]\n" + _lines(item) for item in value]
        else:
            raise ValueError(f"{name} is {value!r}; only tables and lists of tables can be written")
    return "\n".join(blocks)


def _lines(table: Mapping[str, object]) -> str:
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in table.items())


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _text(name)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items()) + " }"
    raise ValueError(f"{value!r} cannot be written as TOML")


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
