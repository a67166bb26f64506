"""serve --https: a real TLS client trusts the desk through its own authority, and nothing else through it."""

from __future__ import annotations

import ipaddress
import json
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.error import URLError

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from weldworth.core.errors import BadInput
from weldworth.web import certificates as made
from weldworth.web.certificates import certificates

NOW = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)
SOURCE = Path(__file__).resolve().parents[2] / "src"


@contextmanager
def served(home: Path, *words: str) -> Iterator[dict[str, Any]]:
    command = [sys.executable, "-m", "weldworth", "serve", "--https", "--json", "--home", str(home), "--port", "0", *words]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        assert process.stdout is not None
        yield json.loads(process.stdout.readline())
    finally:
        process.terminate()
        process.wait(10)


def fetched(address: str, authority: Path | None) -> Any:
    trusting = ssl.create_default_context(cafile=authority)
    return urllib.request.urlopen(address, timeout=10, context=trusting)


def test_a_client_that_trusts_the_authority_reaches_the_desk_and_any_other_does_not(tmp_path: Path) -> None:
    with served(tmp_path / "shop") as told:
        with fetched(told["address"], Path(told["authority"])) as answer:
            assert "The bench is empty" in answer.read().decode()
            assert "max-age" in answer.headers["strict-transport-security"]
        with pytest.raises(URLError, match="CERTIFICATE_VERIFY_FAILED"):
            fetched(told["address"], None)


def test_the_page_beside_it_gives_phones_the_certificate_and_its_fingerprint(tmp_path: Path) -> None:
    with served(tmp_path / "shop") as told:
        with urllib.request.urlopen(told["trust_page"], timeout=10) as answer:
            text = answer.read().decode()
        assert told["fingerprint"] in text
        assert told["address"] in text
        with urllib.request.urlopen(told["trust_page"] + "weldworth-authority.crt", timeout=10) as answer:
            assert answer.headers["content-type"] == "application/x-x509-ca-cert"
            given = x509.load_der_x509_certificate(answer.read())
        assert given == x509.load_pem_x509_certificate(Path(told["authority"]).read_bytes())
        with pytest.raises(URLError, match="404"):
            urllib.request.urlopen(told["trust_page"] + "shop", timeout=10)


def test_the_authority_is_made_once_and_its_keys_are_the_owners_alone(tmp_path: Path) -> None:
    first = certificates(tmp_path, ["192.168.1.20"], NOW)
    server = first.server.read_bytes()
    again = certificates(tmp_path, ["192.168.1.20"], NOW + timedelta(days=100))
    assert (again.fingerprint, again.server.read_bytes()) == (first.fingerprint, server)
    added = certificates(tmp_path, ["192.168.1.20", "desk.local"], NOW)
    late = certificates(tmp_path, ["192.168.1.20"], NOW + timedelta(days=380))
    assert added.fingerprint == late.fingerprint == first.fingerprint
    assert late.server.read_bytes() != server
    assert {path.stat().st_mode & 0o777 for path in tmp_path.glob("*-key.pem")} == {0o600}


def test_a_server_certificate_is_no_older_than_phones_accept_and_says_what_it_is_for(tmp_path: Path) -> None:
    """CA/Browser Forum Baseline Requirements 6.3.2: 398 days at most; RFC 5280 4.2.1.12: serverAuth."""
    found = x509.load_pem_x509_certificate(certificates(tmp_path, ["10.0.0.7"], NOW).server.read_bytes())
    assert found.not_valid_after_utc - NOW <= timedelta(days=398)
    usage = found.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert [one.dotted_string for one in usage] == ["1.3.6.1.5.5.7.3.1"]


@pytest.mark.parametrize("name", ["example.com", "8.8.8.8"])
def test_the_authority_vouches_for_no_place_on_the_internet(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """RFC 5280 section 4.2.1.10, name constraints, judged by the verifier of the library."""
    with pytest.raises(BadInput, match="no name of a private network"):
        certificates(tmp_path, [name], NOW)
    monkeypatch.setattr(made, "own", lambda name: True)
    found = certificates(tmp_path, [name, "192.168.1.20"], NOW)
    leaf, authority = x509.load_pem_x509_certificates(found.server.read_bytes())
    policy = PolicyBuilder().store(Store([authority])).time(NOW)
    for subject in (x509.DNSName(name),) if name.isalpha() or "com" in name else (x509.IPAddress(ipaddress.ip_address(name)),):
        with pytest.raises(VerificationError):
            policy.build_server_verifier(subject).verify(leaf, [])


def test_a_folder_of_certificates_that_is_damaged_is_named(tmp_path: Path) -> None:
    certificates(tmp_path, ["127.0.0.1"], NOW)
    (tmp_path / "authority.pem").write_text("no certificate at all")
    with pytest.raises(BadInput, match="have new ones made"):
        certificates(tmp_path, ["127.0.0.1"], NOW)
