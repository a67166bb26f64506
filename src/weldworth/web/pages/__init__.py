"""One module for each screen.

To add a screen, put one module here with a `router = APIRouter()`; nothing else has to name it. A page

- takes `Known` (who asks; sends strangers to the login) and `TheDesk` as arguments,
- calls one use case of the desk for what it shows or records,
- ends in `page(request, "name.html", ...)` after a GET, in `RedirectResponse(address, 303)` after a POST,
- catches `BadInput` of a form and renders the form again with `problems_for(error, fields)` and what was typed, status 422.

What is posted is checked before the page sees it and lies in `request.state.form` (`Posted(request.state.form)` reads it). Each
form carries `{{ parts.token() }}`; `data-keep` and an id on it keep what is typed, and send it again after a lost connection.

A template in templates/ extends base.html, or candidate.html for a tab of a candidate (then call
`candidate_page(request, desk, id, "Metal", "metal.html", ...)` of candidate.py, which reads the candidate and gives the header
its figures; `read_once` stands above the function that makes the page). Styles and scripts of a page are static/name.css and
static/name.js, put in with `{{ static("name.css") }}`. No `style=` attribute and no inline script: the Content-Security-Policy
lets neither through; widths are SVG attributes. Pages for phones alone hold their style and script themselves (inlined.py), let
through by hash.
`data-live="name"` on an element, whose page's body tag has a `data-feed`, is fetched anew when somebody changes something.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from typing import cast

from fastapi import APIRouter

OPEN = ("door",)
"""Modules whose pages are open to strangers."""
LINKED = ("helper", "seller", "worker")
"""Modules whose pages are open to whoever has the address: a link carries a secret, so there is no form code to check."""


def routers() -> Iterator[tuple[str, APIRouter]]:
    """Name and router of each module here that has one."""
    for name in sorted(module.name for module in pkgutil.iter_modules(__path__)):
        module = importlib.import_module(f"{__name__}.{name}")
        if hasattr(module, "router"):
            yield name, cast(APIRouter, module.router)
