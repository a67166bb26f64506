"""Who comes in, and how: the open door on this machine, accounts everywhere else."""

from __future__ import annotations

from visiting import StoppedClock, Visit, Visitor

from weldworth.cli.serve import set_up_code
from weldworth.web.guard import BROWSER, SESSION
from weldworth.web.settings import Settings, settings_for
from weldworth.workbench.desk import Desk

ELSEWHERE = settings_for("0.0.0.0")
WORDS = "long grey weld seam"


def code_of(desk: Desk) -> str:
    """The set-up code as the terminal shows it."""
    code = set_up_code(desk)
    assert code is not None
    return code


def settle(visitor: Visitor, desk: Desk, name: str = "R. Quillan") -> None:
    """Come in as the first owner."""
    fields = {"code": code_of(desk), "name": name, "password": WORDS, "password_again": WORDS}
    answer = visitor.submit("/welcome", fields, of="/welcome")
    assert answer.status_code == 303, answer.text


def join(desk: Desk, visitor: Visitor, name: str, role: str) -> None:
    """Come in by an invitation."""
    code = desk.people.invite(name, role, desk.people.owner().id)
    fields = {"code": code, "name": name, "password": WORDS, "password_again": WORDS}
    assert visitor.submit("/welcome", fields, of="/welcome").status_code == 303


def test_on_this_machine_the_owner_comes_in_without_a_login(visitor: Visitor) -> None:
    assert "The bench is empty" in visitor.page("/")


def test_another_name_for_this_machine_is_not_answered_on_the_open_door(visit: Visit) -> None:
    """A page from elsewhere could otherwise point a name of its own at 127.0.0.1 and read along."""
    answer = visit(base="http://elsewhere.example").get("/", headers={"accept": "text/html"})
    assert answer.status_code == 421
    assert "The bench" not in answer.text


def test_on_another_address_a_stranger_sees_nothing(visit: Visit, desk: Desk) -> None:
    desk.open_candidate("Tarrick short tub", "open-tub", desk.people.owner().id)
    stranger = visit(ELSEWHERE, base="http://desk.example")
    for address in ("/", "/shop", "/people", "/calendar.ics", "/feed", f"/c/{desk.candidates()[0].id}/money"):
        answer = stranger.get(address, headers={"accept": "text/html"}, follow_redirects=False)
        assert answer.status_code == 303
        assert answer.headers["location"].startswith(("/login", "/welcome"))
        assert "Tarrick" not in answer.text


def test_the_set_up_code_of_the_terminal_makes_the_first_owner_once(visit: Visit, desk: Desk) -> None:
    first, second = visit(ELSEWHERE), visit(ELSEWHERE)
    code = code_of(desk)
    fields = {"code": code, "name": "R. Quillan", "password": WORDS, "password_again": WORDS}
    assert first.submit("/welcome", fields, of="/welcome").status_code == 303
    assert "R. Quillan" in first.page("/")
    again = second.submit("/welcome", {**fields, "name": "Somebody"}, of="/welcome")
    assert again.status_code == 422
    assert "used up" in again.text
    assert set_up_code(desk) is None


def test_a_new_start_makes_the_earlier_set_up_code_useless(visit: Visit, desk: Desk) -> None:
    old, _ = code_of(desk), code_of(desk)
    fields = {"code": old, "name": "R. Quillan", "password": WORDS, "password_again": WORDS}
    assert visit(ELSEWHERE).submit("/welcome", fields, of="/welcome").status_code == 422


def test_passwords_are_kept_as_argon2id_and_never_shown(visit: Visit, desk: Desk) -> None:
    """RFC 9106 recommends Argon2id; the first field of the encoded form names it."""
    visitor = visit(ELSEWHERE)
    settle(visitor, desk)
    kept = [person.password for person in desk.people.all() if person.password]
    assert kept[0].startswith("$argon2id$")
    for address in ("/people", "/me", "/shop"):
        assert "argon2" not in visitor.page(address)


def test_a_wrong_password_and_an_unknown_name_are_told_in_the_same_words(visit: Visit, desk: Desk) -> None:
    settle(visit(ELSEWHERE), desk)
    visitor = visit(ELSEWHERE)
    known = visitor.submit("/login", {"name": "R. Quillan", "password": "wrong words here"}, of="/login")
    unknown = visitor.submit("/login", {"name": "Nobody", "password": "wrong words here"}, of="/login")
    assert known.status_code == unknown.status_code == 422
    assert "do not go together" in known.text
    assert "do not go together" in unknown.text
    assert 'value="R. Quillan"' in known.text, "what was typed is kept"


def test_after_five_wrong_passwords_even_the_right_one_has_to_wait(visit: Visit, desk: Desk, clock: StoppedClock) -> None:
    settle(visit(ELSEWHERE), desk)
    visitor = visit(ELSEWHERE)
    for _ in range(5):
        visitor.submit("/login", {"name": "r. quillan", "password": "wrong words here"}, of="/login")
    refused = visitor.submit("/login", {"name": "R. Quillan", "password": WORDS}, of="/login")
    assert refused.status_code == 429
    clock.wait(minutes=6)
    assert visitor.submit("/login", {"name": "R. Quillan", "password": WORDS}, of="/login").status_code == 303


def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites(visit: Visit, desk: Desk) -> None:
    """RFC 6265 section 4.1.2: HttpOnly and Secure; SameSite as in its successor's draft."""
    visitor = visit(Settings(open_door=False, secure=True), base="https://desk.example")
    answer = visitor.submit(
        "/welcome", {"code": code_of(desk), "name": "A", "password": WORDS, "password_again": WORDS}, of="/welcome"
    )
    cookie = next(value for value in answer.headers.get_list("set-cookie") if value.startswith(SESSION))
    assert {"HttpOnly", "Secure", "SameSite=lax"} <= {part.strip() for part in cookie.split(";")}
    assert "max-age" in answer.headers["strict-transport-security"]


def test_a_session_that_is_ended_lets_nobody_in(visit: Visit, desk: Desk) -> None:
    owner, partner = visit(ELSEWHERE), visit(ELSEWHERE)
    settle(owner, desk)
    join(desk, partner, "J. Osk", "partner")
    partner.page("/")
    whose = next(person.id for person in desk.people.all() if person.name == "J. Osk")
    session = desk.people.passes("session", whose)[0]
    assert owner.submit(f"/people/end/{session.hash}", of="/people").status_code == 303
    assert partner.get("/", follow_redirects=False, headers={"accept": "text/html"}).status_code == 303


def test_logging_out_ends_the_session_itself_not_only_the_cookie(visit: Visit, desk: Desk) -> None:
    visitor = visit(ELSEWHERE)
    settle(visitor, desk)
    secret = visitor.cookies[SESSION]
    visitor.submit("/logout")
    assert desk.people.session(secret) is None


def test_who_may_only_look_records_nothing(visit: Visit, desk: Desk) -> None:
    settle(visit(ELSEWHERE), desk)
    looker = visit(ELSEWHERE)
    join(desk, looker, "M. Tolley", "read-only")
    assert "Take in a candidate" not in looker.page("/")
    for address in ("/new", "/demo", "/shop", "/people/invite", "/people/token"):
        assert looker.submit(address).status_code == 403, address
    assert desk.candidates() == []
    assert looker.submit("/me/theme", {"theme": "dark"}).status_code == 303


def test_a_partner_changes_candidates_but_not_terms_or_people(visit: Visit, desk: Desk) -> None:
    settle(visit(ELSEWHERE), desk)
    partner = visit(ELSEWHERE)
    join(desk, partner, "J. Osk", "partner")
    assert partner.submit("/new", {"name": "Brannock Field", "body": "open-tub"}).status_code == 303
    for address in ("/shop", "/people/invite", f"/people/{desk.people.owner().id}"):
        assert partner.submit(address, {"role": "owner"}).status_code == 403, address
    assert partner.get("/shop/everything.zip").status_code == 403


def test_whoever_is_kept_out_is_out_at_once(visit: Visit, desk: Desk) -> None:
    owner, partner = visit(ELSEWHERE), visit(ELSEWHERE)
    settle(owner, desk)
    join(desk, partner, "J. Osk", "partner")
    whose = next(person.id for person in desk.people.all() if person.name == "J. Osk")
    assert owner.submit(f"/people/{whose}", {"active": "no"}, of="/people").status_code == 303
    assert partner.get("/", follow_redirects=False, headers={"accept": "text/html"}).status_code == 303


def test_the_last_owner_cannot_be_made_less(visit: Visit, desk: Desk) -> None:
    owner = visit(ELSEWHERE)
    settle(owner, desk)
    for person in desk.people.all():
        owner.submit(f"/people/{person.id}", {"role": "partner"}, of="/people")
    assert any(person.role == "owner" and person.active for person in desk.people.all())


def test_after_the_login_one_is_where_one_wanted_to_be_but_never_elsewhere(visit: Visit, desk: Desk) -> None:
    settle(visit(ELSEWHERE), desk)
    visitor = visit(ELSEWHERE)
    fields = {"name": "R. Quillan", "password": WORDS}
    assert visitor.submit("/login", {**fields, "next": "/shop"}, of="/login").headers["location"] == "/shop"
    for target in ("https://elsewhere.example/", "//elsewhere.example/", "/\\elsewhere.example"):
        assert visitor.submit("/login", {**fields, "next": target}, of="/login").headers["location"] == "/"


def test_short_passwords_and_two_different_ones_are_refused_beside_the_field(visit: Visit, desk: Desk) -> None:
    visitor = visit(ELSEWHERE)
    fields = {"code": code_of(desk), "name": "R. Quillan", "password": "short", "password_again": "other"}
    answer = visitor.submit("/welcome", fields, of="/welcome")
    assert answer.status_code == 422
    assert 'id="password-wrong"' in answer.text
    assert 'id="password_again-wrong"' in answer.text


def test_a_changed_password_ends_the_other_sessions(visit: Visit, desk: Desk) -> None:
    here, there = visit(ELSEWHERE), visit(ELSEWHERE)
    settle(here, desk)
    there.submit("/login", {"name": "R. Quillan", "password": WORDS}, of="/login")
    fields = {"old": WORDS, "password": "another long set of words", "password_again": "another long set of words"}
    assert here.submit("/me/password", fields, of="/me").status_code == 303
    here.page("/")
    assert there.get("/", follow_redirects=False, headers={"accept": "text/html"}).status_code == 303


def test_light_and_dark_are_kept_in_the_browser(visitor: Visitor) -> None:
    visitor.submit("/me/theme", {"theme": "dark"})
    assert 'data-theme="dark"' in visitor.page("/")
    visitor.submit("/me/theme", {"theme": "device"})
    assert "data-theme" not in visitor.page("/").partition("<head>")[0]


def test_the_cookie_that_names_the_browser_is_no_secret_of_scripts(visitor: Visitor) -> None:
    cookie = visitor.get("/").headers["set-cookie"]
    assert cookie.startswith(BROWSER)
    assert "HttpOnly" in cookie
