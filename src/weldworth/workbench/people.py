"""Who may come in and what each may do: people, invitations, sessions and tokens. Secrets are kept as hashes alone."""

from __future__ import annotations

import hashlib
import secrets
import uuid
from dataclasses import replace
from datetime import datetime, timedelta

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.words import unknown
from weldworth.workbench.ports import ROLES, Clock, Pass, Person, Store, Unit

OWNER = "owner"
SELLER = "seller:"
"""Before the id of a link: how its seller is named in entries."""
SESSION_DAYS = 30
SEEN_EVERY = timedelta(minutes=5)
INVITATION_DAYS = 7
LONGEST_NAME = 80


class People:
    """People of one shop. Passwords come here as hashes: making and checking them is the web's."""

    def __init__(self, store: Store, clock: Clock) -> None:
        self.store, self.clock = store, clock

    def all(self) -> list[Person]:
        """Everybody, in the order in which they came."""
        with self.store.reading() as unit:
            return unit.people()

    def names(self) -> dict[str, str]:
        """Person's id -> name; the sellers behind links too."""
        with self.store.reading() as unit:
            sellers = {
                f"{SELLER}{link.id}": f"{'helper' if link.asks[0].startswith('walk:') else 'seller'} {link.label}".strip()
                for link in unit.links()
            }
            return {person.id: person.name for person in unit.people()} | sellers

    def get(self, id: str) -> Person:
        """One person; raises NotFound."""
        with self.store.reading() as unit:
            return _person(unit, id)

    def named(self, name: str) -> Person | None:
        """The active person of this name, capitals aside."""
        return next((p for p in self.all() if p.active and p.name.casefold() == name.strip().casefold()), None)

    def owner(self, name: str = "Owner") -> Person:
        """The first owner, made with this name where nobody is there yet: who works on this machine without a login."""
        with self.store.reading() as unit:
            found = next((p for p in unit.people() if p.role == OWNER and p.active), None)
        if found is not None:
            return found
        with self.store.writing() as unit:
            again = next((p for p in unit.people() if p.role == OWNER and p.active), None)
            return again or self._add(unit, name, OWNER, None)

    def add(self, name: str, role: str, password: str | None = None) -> Person:
        """A new person. password : its hash. Raises BadInput for a name that is empty or taken, or an unknown role."""
        with self.store.writing() as unit:
            return self._add(unit, name, role, password)

    def _add(self, unit: Unit, name: str, role: str, password: str | None) -> Person:
        name = _fit(name, role, unit.people())
        person = Person(uuid.uuid4().hex, name, role, password, created_at=self._stamp())
        unit.put_person(person)
        return person

    def rename(self, id: str, name: str) -> Person:
        """Give a person another name."""
        with self.store.writing() as unit:
            person = _person(unit, id)
            others = [other for other in unit.people() if other.id != id]
            changed = replace(person, name=_fit(name, person.role, others))
            unit.put_person(changed)
            return changed

    def set_role(self, id: str, role: str) -> Person:
        """Give a person another role; the last owner stays owner."""
        return self._change(id, role=role)

    def set_active(self, id: str, active: bool) -> Person:
        """Let a person in or keep them out; who is kept out loses every session and token. The last owner stays."""
        return self._change(id, active=active)

    def set_password(self, id: str, password: str) -> Person:
        """Keep a new password hash."""
        with self.store.writing() as unit:
            changed = replace(_person(unit, id), password=password)
            unit.put_person(changed)
            return changed

    def _change(self, id: str, *, role: str | None = None, active: bool | None = None) -> Person:
        if role is not None and role not in ROLES:
            raise BadInput([Problem("role", unknown("role", role, ROLES))])
        with self.store.writing() as unit:
            person = _person(unit, id)
            changed = replace(
                person, role=person.role if role is None else role, active=person.active if active is None else active
            )
            everyone = [changed if other.id == id else other for other in unit.people()]
            if not any(p.role == OWNER and p.active for p in everyone):
                raise BadInput([Problem("role", f"{person.name} is the last owner; make somebody else an owner first")])
            unit.put_person(changed)
            if not changed.active:
                for given in unit.passes(person=id):
                    unit.put_pass(replace(given, ended_at=given.ended_at or self._stamp()))
            return changed

    def invite(self, name: str, role: str, by: str, *, days: int = INVITATION_DAYS) -> str:
        """A secret that lets one person in once; shown once and not kept. by "" is the first-run set-up code."""
        if role not in ROLES:
            raise BadInput([Problem("role", unknown("role", role, ROLES))])
        return self._give("invitation", by, role, name, timedelta(days=days))

    def invitation(self, secret: str) -> Pass | None:
        """The invitation of this secret while it may still be used."""
        return self._live("invitation", secret)

    def accept(self, secret: str, name: str, password: str) -> Person:
        """Use an invitation: a new person with its role. Raises NotFound where it is used up, ended or not known."""
        with self.store.writing() as unit:
            given = unit.find_pass(_hash(secret))
            if given is None or given.kind != "invitation" or not self._good(given):
                raise NotFound("this invitation is used up, ended or not known; ask for a new one")
            person = self._add(unit, name, given.role, password)
            unit.put_pass(replace(given, ended_at=self._stamp()))
            return person

    def begin_session(self, person: str, label: str = "", *, days: int = SESSION_DAYS) -> str:
        """The secret of a new session for the cookie."""
        with self.store.reading() as unit:
            role = _person(unit, person).role
        return self._give("session", person, role, label, timedelta(days=days))

    def session(self, secret: str) -> Person | None:
        """Whose session it is, while session and person are good."""
        given = self._live("session", secret)
        return self._whose(given)

    def give_token(self, person: str, label: str, *, role: str | None = None, days: int | None = None) -> str:
        """The secret of a new API token that lets do no more than `role` and the person's own role."""
        holder = self.get(person)
        if role is not None and role not in ROLES:
            raise BadInput([Problem("role", unknown("role", role, ROLES))])
        if not label.strip():
            raise BadInput([Problem("label", "is empty; say what the token is for")])
        return self._give("token", person, role or holder.role, label.strip(), None if days is None else timedelta(days=days))

    def token(self, secret: str) -> Person | None:
        """Whose token it is, with the lesser of both roles, while token and person are good."""
        return self._whose(self._live("token", secret))

    def passes(self, kind: str, person: str | None = None) -> list[Pass]:
        """Sessions, tokens or invitations that are still good, newest first."""
        with self.store.reading() as unit:
            return sorted((p for p in unit.passes(kind, person) if self._good(p)), key=lambda p: p.created_at, reverse=True)

    def end(self, hash: str) -> None:
        """End a session, token or invitation by its hash; ending it again changes nothing. Raises NotFound."""
        with self.store.writing() as unit:
            given = unit.find_pass(hash)
            if given is None:
                raise NotFound("there is no such session, token or invitation")
            unit.put_pass(replace(given, ended_at=given.ended_at or self._stamp()))

    def end_session(self, secret: str) -> None:
        """End the session of this secret, if there is one."""
        if self._live("session", secret) is not None:
            self.end(_hash(secret))

    def _give(self, kind: str, person: str, role: str, label: str, lasts: timedelta | None) -> str:
        secret = secrets.token_urlsafe(24)
        now = self.clock.now()
        until = None if lasts is None else _iso(now + lasts)
        with self.store.writing() as unit:
            unit.put_pass(Pass(_hash(secret), kind, person, role, label.strip(), _iso(now), until))
        return secret

    def _live(self, kind: str, secret: str) -> Pass | None:
        with self.store.reading() as unit:
            given = unit.find_pass(_hash(secret))
        return given if given is not None and given.kind == kind and self._good(given) else None

    def _good(self, given: Pass) -> bool:
        until = given.expires_at
        return given.ended_at is None and (until is None or datetime.fromisoformat(until) > self.clock.now())

    def _whose(self, given: Pass | None) -> Person | None:
        if given is None:
            return None
        with self.store.reading() as unit:
            person = next((p for p in unit.people() if p.id == given.person and p.active), None)
        if person is None:
            return None
        self._seen(given)
        least = max(ROLES.index(person.role), ROLES.index(given.role)) if given.kind == "token" else ROLES.index(person.role)
        return replace(person, role=ROLES[least])

    def _seen(self, given: Pass) -> None:
        """Note that it was used, at most every few minutes, so that looking at a page writes next to nothing."""
        now = self.clock.now()
        if given.seen_at is not None and now - datetime.fromisoformat(given.seen_at) < SEEN_EVERY:
            return
        with self.store.writing() as unit:
            newest = unit.find_pass(given.hash)
            if newest is not None:
                unit.put_pass(replace(newest, seen_at=_iso(now)))

    def _stamp(self) -> str:
        return _iso(self.clock.now())


def _person(unit: Unit, id: str) -> Person:
    found = next((person for person in unit.people() if person.id == id), None)
    if found is None:
        raise NotFound(f"there is no person {id!r} here")
    return found


def _fit(name: str, role: str, others: list[Person]) -> str:
    """The name without blanks around it; raises BadInput where name or role cannot be used."""
    name, problems = " ".join(name.split()), []
    if not name or len(name) > LONGEST_NAME:
        problems.append(Problem("name", f"{name[:20]!r} cannot be used; give 1 to {LONGEST_NAME} characters"))
    elif any(other.name.casefold() == name.casefold() for other in others):
        problems.append(Problem("name", f"{name!r} is taken; give another name"))
    if role not in ROLES:
        problems.append(Problem("role", unknown("role", role, ROLES)))
    if problems:
        raise BadInput(problems)
    return name


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _iso(moment: datetime) -> str:
    return moment.isoformat(timespec="microseconds")
