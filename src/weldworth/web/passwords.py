"""Passwords as argon2id hashes."""

from __future__ import annotations

from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError

from weldworth.core.errors import BadInput, Problem

SHORTEST, LONGEST = 10, 200
_hasher = PasswordHasher()


def hashed(password: str, again: str | None = None, *, where: str = "password") -> str:
    """The hash to keep. Raises BadInput where the password is too short, too long or not the same twice."""
    problems = []
    if not SHORTEST <= len(password) <= LONGEST:
        problems.append(Problem(where, f"give {SHORTEST} to {LONGEST} characters; a few words in a row do well"))
    if again is not None and again != password:
        problems.append(Problem(f"{where}_again", "is not the same as above; type both again"))
    if problems:
        raise BadInput(problems)
    return _hasher.hash(password)


def fits(password: str, kept: str | None) -> bool:
    """Whether it is the password of this hash; takes as long where there is no hash, so that names cannot be guessed."""
    try:
        return _hasher.verify(kept or _nobody(), password[:LONGEST]) and kept is not None
    except (Argon2Error, InvalidHashError):
        return False


@cache
def _nobody() -> str:
    return _hasher.hash("nobody has this password")
