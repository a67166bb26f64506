"""What the pages need to know beside the desk: who may come in without a login, and how much may be sent at once."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass

MEGABYTE = 1_000_000


@dataclass(frozen=True, slots=True)
class Settings:
    """How the desk is served.

    open_door : the single owner works here without a login; only ever on this machine's own address.
    hosts : names this desk answers to, without port; empty for any. secure : served over https, so cookies say so.
    largest_form, largest_upload : bytes of a posted form and of an upload.
    feed_seconds : how often the feed looks for changes.
    """

    open_door: bool = True
    hosts: frozenset[str] = frozenset()
    secure: bool = False
    largest_form: int = 2 * MEGABYTE
    largest_upload: int = 400 * MEGABYTE
    feed_seconds: float = 1.0


OWN_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})


def is_loopback(host: str) -> bool:
    """Whether an address can be reached from this machine alone.

    >>> is_loopback("127.0.0.1"), is_loopback("::1"), is_loopback("localhost"), is_loopback("0.0.0.0")
    (True, True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def settings_for(host: str, *, names: Iterable[str] = (), secure: bool = False) -> Settings:
    """The settings for serving on `host`: the door is open on this machine's own address and shut everywhere else.

    names : further names that the desk answers to. On the open door only this machine's own names are answered, so that a
    page from elsewhere cannot reach in under a name of its own.
    """
    if is_loopback(host):
        own = f"[{host}]" if ":" in host and not host.startswith("[") else host
        return Settings(open_door=True, hosts=OWN_NAMES | {own}, secure=secure)
    return Settings(open_door=False, hosts=frozenset(names), secure=secure)
