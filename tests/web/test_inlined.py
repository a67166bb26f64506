"""Pages for phones come in one answer; their policy lets through the two texts that stand in them and nothing else."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256

import pytest
from visiting import Visitor

from weldworth.web import static_files
from weldworth.web.inlined import inlined
from weldworth.web.shield import POLICY
from weldworth.web.static_files import Asset
from weldworth.workbench.desk import Desk
from weldworth.workbench.walking import begin_walk


@pytest.fixture
def addresses(desk: Desk) -> dict[str, str]:
    """Every page for a phone, by its template."""
    owner = desk.people.owner("R. Quillan").id
    id = desk.open_candidate("Ostrel Forager", "pickup", owner)
    walk = begin_walk(desk, id, "own-ground", 15, owner)
    secret = desk.links.make_walk(id, walk, owner)[1]
    return {
        "seller": f"/s/{desk.links.make(id, ['question:title'], owner)[1]}",
        "seller_gone": "/s/no-such-page",
        "walk_on": f"/w/{secret}",
        "walk_on of the owner": f"/c/{id}/walk/{walk}",
        "walk_done": f"/w/{secret}/done",
    }


def hashed(text: str) -> str:
    """Content Security Policy Level 3, section 2.3.1: the base64 of the SHA-256 of what stands between the tags."""
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def test_a_page_for_a_phone_needs_no_second_answer_and_its_policy_allows_just_what_it_holds(
    visitor: Visitor, addresses: dict[str, str]
) -> None:
    for name, address in addresses.items():
        answer = visitor.get(address)
        text, policy = answer.text, answer.headers["content-security-policy"]
        asked = re.sub(r"<noscript>.*?</noscript>", "", text, flags=re.DOTALL)
        assert not re.search(r"<script[^>]*\ssrc=|rel=\"(stylesheet|modulepreload|preload)\"", asked), name
        styles = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
        scripts = re.findall(r'<script type="module">(.*?)</script>', text, re.DOTALL)
        assert len(styles) == 1, name
        assert len(scripts) == (0 if name in ("seller_gone", "walk_done") else 1), name
        allowed = {hashed(one) for one in (*styles, *scripts)}
        assert set(re.findall(r"'sha256-[^']+'", policy)) == allowed, name
        for one in allowed:
            policy = policy.replace(f" {one}", "")
        assert policy == POLICY, "apart from these two texts the page is as shut as every other"


def test_a_script_that_could_not_be_put_into_one_piece_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def shipped(text: str) -> None:
        asset = Asset("/static/odd.js", "text/javascript", text.encode(), None)
        monkeypatch.setattr("weldworth.web.inlined.assets", lambda: {**static_files.assets(), "odd.js": asset})
        inlined.cache_clear()

    for text, told in (
        ('import * as all from "/static/queue.js";', r"odd\.js: 'import \* as all"),
        ("export default 1;", r"odd\.js: 'export default 1;'"),
        ('const end = "</script>";', "'</script'"),
    ):
        shipped(text)
        with pytest.raises(RuntimeError, match=told):
            inlined((), "odd.js")
    inlined.cache_clear()
