"""Who may come in without a login."""

from __future__ import annotations

import pytest

from weldworth.web.settings import is_loopback, settings_for


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.9.10", "::1", "[::1]", "localhost"])
def test_the_door_is_open_on_this_machine(host: str) -> None:
    """RFC 1122 section 3.2.1.3 (127/8) and RFC 4291 section 2.5.3 (::1) are the loopback addresses."""
    assert is_loopback(host)
    assert settings_for(host).open_door


@pytest.mark.parametrize(
    "host", ["0.0.0.0", "::", "192.168.1.20", "10.0.0.1", "desk.example", "", "127.0.0.1.example", "localhost.example"]
)
def test_the_door_is_shut_on_every_other_address(host: str) -> None:
    assert not is_loopback(host)
    assert not settings_for(host).open_door
