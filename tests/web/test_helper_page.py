"""A walk for a helper without an account: what the link opens, what it keeps to itself, how it ends."""

from __future__ import annotations

import re
import uuid
from dataclasses import replace

import pytest
from test_walk_page import CORNER, data_of, memo, ostrel, send
from visiting import Visit, Visitor

from weldworth.core.errors import BadInput
from weldworth.web.settings import settings_for
from weldworth.workbench.desk import Desk
from weldworth.workbench.walking import begin_walk, taken_down, walk_in, walks_in

__all__ = ["ostrel"]
HTML = {"accept": "text/html"}


@pytest.fixture
def stranger(visit: Visit) -> Visitor:
    """Somebody without an account, at a desk whose door is shut."""
    return visit(replace(settings_for("0.0.0.0"), hosts=frozenset()))


def lent(desk: Desk, id: str, **more: object) -> tuple[str, str]:
    """A walk and the address of a link to it."""
    by = desk.people.owner().id
    walk = begin_walk(desk, id, "inspector-ground", 15, by)
    return walk, "/w/" + desk.links.make_walk(id, walk, by, **more)[1]  # type: ignore[arg-type]


def put(stranger: Visitor, address: str, kind: str, body: dict[str, object]) -> int:
    """Send one thing as the phone does, without any form code."""
    headers = {"accept": "application/json"}
    answer = stranger.put(f"{address}/up/{uuid.uuid4().hex}", json={"kind": kind, "body": body}, headers=headers)
    return int(answer.status_code)


def test_a_helper_walks_without_an_account_and_what_comes_says_so(stranger: Visitor, desk: Desk, ostrel: str) -> None:
    walk, address = lent(desk, ostrel, label="B. Marsh", vehicle="the green pickup")
    page = stranger.page(address)
    assert data_of(page)["name"] == "the green pickup" and "Ostrel 60" not in page
    assert put(stranger, address, "finding", {"zone": CORNER, "sign": "hole"}) == 200
    (entry,) = taken_down(desk.candidate(ostrel), walk)
    assert entry.body["source"] == "inspector-ground"
    assert desk.diary(ostrel)[-1].by_name == "helper B. Marsh"


def test_belief_and_money_are_seen_only_where_the_link_says_so(stranger: Visitor, desk: Desk, ostrel: str) -> None:
    for sees in (False, True):
        _, address = lent(desk, ostrel, sees=sees)
        page = stranger.page(address)
        assert data_of(page)["sees"] is sees
        assert not re.search(r"9,?000|28,?000|[Cc]eiling|in 100|\bworth\b", stranger.told(address))
        put(stranger, address, "finding", {"zone": CORNER, "sign": "hole"})
        assert stranger.get(f"{address}/running?zone={CORNER}").status_code == (200 if sees else 404)


def test_a_helper_gets_at_nothing_else(stranger: Visitor, desk: Desk, ostrel: str) -> None:
    walk, _ = lent(desk, ostrel)
    for path in ("", "/walk", f"/walk/{walk}", f"/walk/{walk}/running", f"/walk/{walk}/changed", "/metal"):
        answer = stranger.get(f"/c/{ostrel}{path}", headers=HTML, follow_redirects=False)
        assert answer.status_code == 303 and answer.headers["location"].startswith(("/login", "/welcome")), path


def test_wrong_run_out_ended_and_withdrawn_get_the_same_plain_page(stranger: Visitor, desk: Desk, ostrel: str) -> None:
    _, good = lent(desk, ostrel)
    _, short = lent(desk, ostrel, days=1)
    walk, taken = lent(desk, ostrel)
    seller = desk.links.make(ostrel, [f"picture:{CORNER}"], desk.people.owner().id)[1]
    desk.links.end(desk.links.all(ostrel, walks=True)[2].link.id)
    desk.withdraw(ostrel, walk_in(desk.candidate(ostrel), walk).revision, desk.people.owner().id)
    desk.clock.wait(days=2)  # type: ignore[attr-defined]
    pages = {stranger.page(address, 404) for address in (good, short, taken, "/w/nothing", f"/w/{seller}")}
    assert len(pages) == 1
    assert put(stranger, good, "finding", {"zone": CORNER, "sign": "hole"}) == 404


def test_a_link_to_a_walk_is_no_sellers_page(stranger: Visitor, desk: Desk, ostrel: str) -> None:
    _, address = lent(desk, ostrel)
    stranger.page(address.replace("/w/", "/s/"), 404)
    assert desk.links.all(ostrel) == [] and len(desk.links.all(ostrel, walks=True)) == 1
    with pytest.raises(BadInput, match="to a walk"):
        desk.links.add(desk.links.all(ostrel, walks=True)[0].link.id, [f"picture:{CORNER}"], desk.people.owner().id)


def test_the_helper_says_that_this_was_all(stranger: Visitor, desk: Desk, ostrel: str) -> None:
    _, address = lent(desk, ostrel)
    sent = stranger.post(address + "/end", headers=HTML, follow_redirects=False)
    assert sent.status_code == 303 and "may be closed" in stranger.page(sent.headers["location"])
    assert walks_in(desk.candidate(ostrel))[0].ended is not None


def test_the_desk_makes_the_address_once_lists_it_and_ends_it(visitor: Visitor, desk: Desk, ostrel: str) -> None:
    walk = begin_walk(desk, ostrel, "own-ground", 15, desk.people.owner().id)
    made = visitor.submit(f"/c/{ostrel}/walk/{walk}/links", {"label": "B. Marsh", "sees": "yes"})
    secret = re.search(r"/w/([A-Za-z0-9_-]{30,})", made.text)
    assert secret and 'class="qr"' in made.text
    page = visitor.page(f"/c/{ostrel}/walk")
    assert "B. Marsh" in page and "sees belief and ceiling" in page and secret[1] not in page
    (line,) = desk.links.all(ostrel, walks=True)
    assert visitor.submit(f"/c/{ostrel}/walk-links/{line.link.id}/end").status_code == 303
    visitor.page(f"/w/{secret[1]}", 404)
    assert visitor.submit(f"/c/{ostrel}/walk-links/{'0' * 32}/end").status_code == 404


def test_programs_make_the_address_too(visitor: Visitor, desk: Desk, ostrel: str) -> None:
    token = {"authorization": f"Bearer {desk.people.give_token(desk.people.owner().id, 'test')}"}
    walk = begin_walk(desk, ostrel, "own-ground", 15, desk.people.owner().id)
    base = f"/api/v1/candidates/{ostrel}/walks"
    made = visitor.post(f"{base}/{walk}/links", json={"sees": True}, headers=token).json()
    assert data_of(visitor.page(made["address"].partition("127.0.0.1")[2]))["sees"] is True
    assert visitor.post(f"{base}/{'0' * 32}/links", json={}, headers=token).status_code == 404


@pytest.mark.parametrize(
    ("fields", "words"),
    [({"days": "soon"}, "is not a number"), ({"days": "0"}, "give 1 to 365"), ({"label": "x" * 81}, "80 are the most")],
)
def test_a_link_that_cannot_be_made_is_refused_beside_its_field(
    visitor: Visitor, desk: Desk, ostrel: str, fields: dict[str, str], words: str
) -> None:
    walk = begin_walk(desk, ostrel, "own-ground", 15, desk.people.owner().id)
    answer = visitor.submit(f"/c/{ostrel}/walk/{walk}/links", fields)
    assert answer.status_code == 422 and words in answer.text
    assert desk.links.all(ostrel, walks=True) == []


def test_a_helper_speaks_and_only_the_shop_listens(stranger: Visitor, desk: Desk, ostrel: str, tmp_path: object) -> None:
    _, address = lent(desk, ostrel)
    assert "microphone=(self)" in stranger.get(address, headers=HTML).headers["permissions-policy"]
    assert send(stranger, address, "memo", {"zone": CORNER}, memo(tmp_path)).status_code == 200  # type: ignore[arg-type]
    sha256 = desk.candidate(ostrel).entries[-1].body["sha256"]
    assert stranger.get(f"/c/{ostrel}/memos/{sha256}", follow_redirects=False).status_code in (303, 401)
