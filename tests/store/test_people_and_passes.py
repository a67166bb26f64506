"""Who may come in: secrets are shown once, the last owner stays, and who is kept out loses every way in."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from desks import HandClock, desk_on

from weldworth.core.errors import BadInput, NotFound
from weldworth.store.sqlite import SqliteStore
from weldworth.workbench.people import People


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def people(clock: HandClock, tmp_path: Path) -> People:
    return People(SqliteStore(tmp_path / "weldworth.sqlite"), clock)


def test_the_owner_is_made_once(people: People) -> None:
    assert people.owner() == people.owner()
    assert len(people.all()) == 1


def test_an_invitation_lets_one_person_in_once_with_its_role(people: People) -> None:
    secret = people.invite("Ben", "partner", people.owner().id)
    ben = people.accept(secret, "Ben", "hash")
    assert (ben.role, people.named("ben")) == ("partner", ben)
    with pytest.raises(NotFound):
        people.accept(secret, "Cleo", "hash")
    with pytest.raises(NotFound):
        people.accept("guess", "Cleo", "hash")


def test_an_invitation_and_a_session_end_with_their_time(people: People, clock: HandClock) -> None:
    owner = people.owner()
    invited, session = people.invite("Ben", "partner", owner.id, days=7), people.begin_session(owner.id, days=30)
    clock.moment += timedelta(days=8)
    assert people.invitation(invited) is None
    assert people.session(session) == owner
    clock.moment += timedelta(days=30)
    assert people.session(session) is None


def test_when_a_session_or_token_was_last_used_is_kept_to_within_minutes(people: People, clock: HandClock) -> None:
    owner = people.owner()
    session, token = people.begin_session(owner.id), people.give_token(owner.id, "sheet")
    assert [one.seen_at for kind in ("session", "token") for one in people.passes(kind)] == [None, None]
    people.session(session)
    first = people.passes("session")[0].seen_at
    people.session(session)
    assert first is not None and people.passes("session")[0].seen_at == first
    clock.moment += timedelta(hours=1)
    people.session(session)
    people.token(token)
    for kind in ("session", "token"):
        assert clock.moment - datetime.fromisoformat(str(people.passes(kind)[0].seen_at)) < timedelta(minutes=5)
    people.end(people.passes("session")[0].hash)
    assert people.session(session) is None


def test_a_session_can_be_ended_and_a_token_is_no_session(people: People) -> None:
    owner = people.owner()
    secret, token = people.begin_session(owner.id, "phone"), people.give_token(owner.id, "sheet")
    assert people.session(token) is None and people.token(secret) is None
    people.end(people.passes("session")[0].hash)
    assert people.session(secret) is None
    assert people.token(token) == owner


def test_a_token_lets_do_no_more_than_its_own_role_and_the_persons(people: People) -> None:
    owner = people.owner()
    look, full = people.give_token(owner.id, "board", role="read-only"), people.give_token(owner.id, "sheet")
    assert people.token(look).role == "read-only"  # type: ignore[union-attr]
    people.add("Ann", "owner")
    people.set_role(owner.id, "partner")
    assert people.token(full).role == "partner"  # type: ignore[union-attr]


def test_who_is_kept_out_loses_sessions_and_tokens_for_good(people: People) -> None:
    people.owner()
    ben = people.add("Ben", "partner")
    secret, token = people.begin_session(ben.id), people.give_token(ben.id, "sheet")
    people.set_active(ben.id, False)
    people.set_active(ben.id, True)
    assert people.session(secret) is None and people.token(token) is None


def test_the_last_owner_stays_owner(people: People) -> None:
    owner = people.owner()
    for change in (lambda: people.set_role(owner.id, "partner"), lambda: people.set_active(owner.id, False)):
        with pytest.raises(BadInput, match="last owner"):
            change()


@pytest.mark.parametrize(("name", "role"), [("", "owner"), ("x" * 81, "owner"), ("owner", "partner"), ("Cleo", "boss")])
def test_a_name_that_is_empty_long_or_taken_or_an_unknown_role_is_refused(name: str, role: str, people: People) -> None:
    people.owner("Owner")
    with pytest.raises(BadInput):
        people.add(name, role)


def test_no_secret_is_kept_in_the_shops_data(tmp_path: Path) -> None:
    from weldworth.store.sqlite import SqliteStore

    desk = desk_on(SqliteStore(tmp_path / "w.sqlite"), tmp_path)
    owner = desk.people.owner()
    secrets = [desk.people.begin_session(owner.id), desk.people.give_token(owner.id, "t"), desk.people.invite("B", "partner", "")]
    desk.store.close()
    kept = b"".join(path.read_bytes() for path in tmp_path.iterdir() if path.is_file())
    assert all(secret.encode() not in kept for secret in secrets)
