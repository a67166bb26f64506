"""Pages given to sellers: what they show and keep to themselves, how they end, and how what came is erased."""

from __future__ import annotations

import re

import pytest
from test_taking_in import picture
from test_uploads import ASK, QUESTION, ZONE, Phone, entries
from visiting import DEMO, StoppedClock, Visit, Visitor

from weldworth.core.errors import BadInput
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import verify

HTML = {"accept": "text/html"}


@pytest.fixture
def candidate(desk: Desk) -> str:
    owner = desk.people.owner("R. Quillan")
    desk.import_dossier(DEMO / "pelham-lisse", owner.id)
    id = desk.open_candidate("Ostrel Forager", "pickup", owner.id, model_year=1964)
    desk.record(id, "sale", {"kind": "asked", "price": 6900}, owner.id)
    desk.record(id, "resale", {"low": 14000, "likely": 17000, "high": 21000}, owner.id)
    return id


def secret_of(desk: Desk, candidate: str, **more: object) -> str:
    return desk.links.make(candidate, [ASK, QUESTION], desk.people.owner().id, **more)[1]  # type: ignore[arg-type]


def test_a_secret_cannot_be_guessed_and_is_not_kept(desk: Desk, candidate: str, tmp_path: object) -> None:
    """192 bits from the system's own source; 128 are the least that is asked for."""
    secret = secret_of(desk, candidate)
    assert len(secret) * 6 >= 128
    assert secret != secret_of(desk, candidate)
    (line, *_) = desk.links.all(candidate)
    assert secret not in repr(line)


def test_the_page_shows_the_asks_and_nothing_of_the_shop(desk: Desk, candidate: str, visitor: Visitor) -> None:
    text = visitor.told(f"/s/{secret_of(desk, candidate, label='Mr Dell', vehicle='1964 pickup')}")
    assert "Front frame horns" in text
    assert "1964 pickup" in text
    for own in ("6900", "6,900", "17000", "17,000", "Pelham", "Ostrel Forager", "Mr Dell", "eiling", "worth", candidate, "/c/"):
        assert own not in text, own


def test_wrong_run_out_and_ended_are_one_and_the_same_page(
    desk: Desk, candidate: str, visitor: Visitor, clock: StoppedClock
) -> None:
    ended, run_out, good = secret_of(desk, candidate), secret_of(desk, candidate, days=1), secret_of(desk, candidate, days=3)
    desk.links.end(desk.links.known(ended).id)
    clock.wait(days=2)
    answers = [visitor.get(f"/s/{secret}", headers=HTML) for secret in ("x" * 32, run_out, ended)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.text for answer in answers}) == 1
    assert visitor.get(f"/s/{good}").status_code == 200
    for secret in ("x" * 32, run_out, ended):
        sent = visitor.put(
            f"/s/{secret}/up/answer-0001", json={"kind": "answer", "body": {}}, headers={"accept": "application/json"}
        )
        assert (sent.status_code, visitor.get(f"/s/{secret}/now").status_code) == (404, 404)


def test_a_page_in_spanish_is_spanish_throughout(desk: Desk, candidate: str, visitor: Visitor) -> None:
    address = f"/s/{secret_of(desk, candidate)}"
    text = visitor.get(address, headers={"accept-language": "es-MX,es;q=0.9"}).text
    assert '<html lang="es" dir="ltr">' in text
    assert "Tomar la foto" in text
    assert "¿Se condujo en invierno" in text
    body = re.sub(r"<(script|p class=\"of\").*?</", "", text.partition("<main")[2].partition("<footer")[0], flags=re.DOTALL)
    seen = re.sub(r"<[^>]+>", " ", body)
    assert re.findall(r"\b(?:the|and|with|from|rail|front|rear|left|right|picture|later|back)\b", seen, re.IGNORECASE) == []
    assert '<html lang="en"' in visitor.get(f"{address}?lang=en", headers={"accept-language": "es"}).text


def test_the_buyer_makes_a_page_from_the_asks_and_its_address_is_shown_once(desk: Desk, candidate: str, visitor: Visitor) -> None:
    made = visitor.submit(f"/c/{candidate}/links", {"ask": [ASK], "label": "Mr Dell", "vehicle": "1964 pickup", "days": "7"})
    (address,) = re.findall(r'value="http://127.0.0.1(/s/[^"]+)"', made.text)
    assert "This address works on this machine alone" in made.text
    assert visitor.get(address).status_code == 200
    again = visitor.page(f"/c/{candidate}/asks")
    assert address not in again
    assert "Opened once" in again
    assert desk.candidate(candidate).sent == {ASK: "sent"}


@pytest.mark.parametrize(
    ("asks", "more", "words"),
    [
        ([], {}, "nothing is chosen"),
        (["visit:friend"], {}, "cannot be put on a page"),
        ([f"picture:{n}" for n in range(13)], {}, "12 are the most"),
        ([ASK], {"days": 0}, "give 1 to 365"),
        ([ASK], {"label": "x" * 81}, "80 are the most"),
    ],
)
def test_a_page_that_cannot_be_is_refused(
    desk: Desk, candidate: str, asks: list[str], more: dict[str, object], words: str
) -> None:
    with pytest.raises(BadInput, match=words):
        desk.links.make(candidate, asks, desk.people.owner().id, **more)  # type: ignore[arg-type]
    assert desk.links.all(candidate) == []


def test_one_more_ask_appears_on_the_open_page(desk: Desk, candidate: str, visitor: Visitor) -> None:
    secret = secret_of(desk, candidate)
    link = desk.links.known(secret)
    assert visitor.get(f"/s/{secret}/now").json() == {"asks": [ASK, QUESTION]}
    answer = visitor.submit(f"/c/{candidate}/links/{link.id}/more", {"ask": ["question:title"]})
    assert answer.status_code == 303
    assert visitor.get(f"/s/{secret}/now").json()["asks"][-1] == "question:title"
    assert "Is the title in your name" in visitor.page(f"/s/{secret}")


def test_what_came_is_erased_on_request_and_what_was_found_stays(desk: Desk, candidate: str, visitor: Visitor) -> None:
    secret = secret_of(desk, candidate, label="Mr Dell")
    phone, data = Phone(desk, secret), picture(3)
    phone.send("picture-0001", data)
    phone.announce("answer-0001", "answer", {"ask": QUESTION, "words": "my cousin drove it"})
    assert "my cousin drove it" in visitor.page(f"/c/{candidate}/asks")
    (kept,) = entries(desk, candidate, "picture")
    sha256 = kept.body["sha256"]
    finding = {"zone": ZONE, "sign": "scale", "source": "asked-picture", "picture": kept.body["name"]}
    desk.record(candidate, "finding", finding, desk.people.owner().id)
    (line,) = desk.links.all(candidate)
    assert visitor.submit(f"/c/{candidate}/links/{line.link.id}/erase").status_code == 303
    assert not list(desk.pictures.path(sha256).parents[2].glob(f"*/*/{sha256}*"))
    for page in ("asks", "diary", "pictures", "metal"):
        text = visitor.page(f"/c/{candidate}/{page}")
        assert "my cousin" not in text
        assert "Mr Dell" not in text
    assert [record.sign for record in desk.candidate(candidate).dossier.records if hasattr(record, "sign")] == ["scale"]
    assert not verify(desk.candidate(candidate).entries)
    assert visitor.get(f"/s/{secret}").status_code == 404
    (tomb,) = entries(desk, candidate, "erased")
    with pytest.raises(BadInput, match="gone"):
        desk.withdraw(candidate, tomb.seq, desk.people.owner().id)


def test_programs_make_list_end_and_erase_pages_too(desk: Desk, candidate: str, visitor: Visitor) -> None:
    token = desk.people.give_token(desk.people.owner().id, "a program")
    visitor.headers["authorization"] = f"Bearer {token}"
    made = visitor.post(f"/api/v1/candidates/{candidate}/links", json={"asks": [ASK]}).json()
    assert "hash" not in made
    Phone(desk, made["address"].rpartition("/")[2]).send("picture-0001", picture(4))
    (line,) = visitor.get(f"/api/v1/candidates/{candidate}/links").json()
    assert (line["state"], line["came"][0]["ask"]) == ("open", ASK)
    assert len(visitor.post(f"/api/v1/links/{made['id']}/asks", json={"asks": [QUESTION]}).json()["asks"]) == 2
    assert visitor.post(f"/api/v1/links/{made['id']}/end").json()["ended_at"]
    assert visitor.post(f"/api/v1/links/{made['id']}/erase").json()["erased_at"]
    assert visitor.post("/api/v1/links/none/erase").status_code == 404


def test_nobody_at_the_desk_waits_while_sellers_send_and_it_is_weighed_in_a_quiet_moment(desk: Desk, candidate: str) -> None:
    phone, owner = Phone(desk, secret_of(desk, candidate)), desk.people.owner().id
    before = desk.weighing(candidate)
    phone.announce("cannot-0001", "cannot", {"ask": ASK, "why": "reach"})
    assert desk.weighing(candidate).belief is before.belief
    assert desk.waits(candidate)
    desk.refresh()
    assert not desk.waits(candidate)
    assert desk.weighing(candidate).belief is not before.belief
    phone.announce("answer-0001", "answer", {"ask": QUESTION, "answer": "never"})
    after = desk.weighing(candidate)
    desk.record(candidate, "finding", {"zone": ZONE, "sign": "hole", "source": "own-ground"}, owner)
    assert not desk.waits(candidate), "what the desk itself records never waits"
    assert desk.weighing(candidate).belief is not after.belief


def test_who_may_only_look_makes_and_erases_nothing(desk: Desk, candidate: str, visit: Visit) -> None:
    reader = desk.people.add("A. Reader", "read-only")
    secret_of(desk, candidate)
    token = desk.people.give_token(reader.id, "looks")
    guest = visit()
    guest.headers["authorization"] = f"Bearer {token}"
    assert guest.post(f"/api/v1/candidates/{candidate}/links", json={"asks": [ASK]}).status_code == 403
    assert guest.post(f"/api/v1/links/{desk.links.all(candidate)[0].link.id}/erase").status_code == 403
