"""Style and script of a phone's page inside the page itself, so that on a slow line one answer is enough to begin.

The Content-Security-Policy of such a page lets through exactly these two texts, by their SHA-256 (Content Security Policy
Level 3, section 2.3.1), and nothing else inline. A hash, unlike a nonce, still holds where the phone shows the page that it kept.
"""

from __future__ import annotations

import re
from base64 import b64encode
from dataclasses import dataclass
from functools import cache
from hashlib import sha256

from markupsafe import Markup

from weldworth.web.shield import POLICY
from weldworth.web.static_files import assets

_IMPORT = re.compile(r'^import (\{[^}]+\}) from "([^"]+)";$', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=(?:const|class|function|async function) (\w+))", re.MULTILINE)
_LEFT = re.compile(r"^(?:import|export)\b.*", re.MULTILINE)
_ENDS = re.compile(r"</(?:style|script)|<!--", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Inlined:
    """The elements to put into a page, script "" where it has none, and the Content-Security-Policy that goes with them."""

    style: Markup
    script: Markup
    policy: str


@cache
def inlined(styles: tuple[str, ...], script: str = "") -> Inlined:
    """Shipped styles one after another, and a shipped module in one piece with all that it imports.

    Raises RuntimeError for a script that says `import` or `export` in another way than ours do, or a text that ends its element.
    """
    style, policy = "\n".join(assets()[name].plain.decode() for name in styles), POLICY
    policy = policy.replace("style-src 'self'", f"style-src 'self' {_hash(style)}")
    if not script:
        return Inlined(Markup("<style>%s</style>") % Markup(style), Markup(""), policy)
    text = _one_piece(script)
    policy = policy.replace("script-src 'self'", f"script-src 'self' {_hash(text)}")
    return Inlined(
        Markup("<style>%s</style>") % Markup(style), Markup('<script type="module">%s</script>') % Markup(text), policy
    )


def _hash(text: str) -> str:
    if found := _ENDS.search(text):
        raise RuntimeError(f"a text that stands inside a page must not hold {found[0]!r}")
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _one_piece(script: str) -> str:
    """The module with what it imports before it, each in a function of its own so that their names stay apart."""
    pieces: dict[str, str] = {}

    def gather(name: str) -> str:
        text = assets()[name].plain.decode()
        text = _IMPORT.sub(lambda found: f"const {found[1]} = {gather(by_url[found[2]])};", text)
        text, given = _EXPORT.sub("", text), ", ".join(found[1] for found in _EXPORT.finditer(text))
        if left := _LEFT.search(text):
            raise RuntimeError(f"{name}: {left[0]!r} cannot be put into one piece; write import {{ a, b }} from and export const")
        called = f"from_{name.removesuffix('.js')}"
        pieces.setdefault(
            called, f"const {called} = (() => {{\n{text}\nreturn {{ {given} }};\n}})();" if name != script else text
        )
        return called

    by_url = {asset.url: name for name, asset in assets().items()}
    gather(script)
    return "\n".join(pieces.values())
