"""An own certificate authority, so that phones on the home network may be served over https: made once, kept in the home folder.

The authority can vouch for names and addresses of private networks alone (RFC 5280, 4.2.1.10), so that trusting it on a phone
says nothing about any place on the internet, even if its key were lost.
"""

from __future__ import annotations

import ipaddress
import os
import socket
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from weldworth.core.errors import BadInput, Problem

AUTHORITY_DAYS, SERVER_DAYS, RENEW_DAYS = 3650, 397, 30
"""Phones refuse server certificates that last longer than 398 days (or 825, from an authority of one's own)."""
PRIVATE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16", "fc00::/7", "fe80::/10", "::1/128")
"""RFC 1918, RFC 3927, RFC 4193, RFC 4291."""
DOMAINS = ("localhost", "local", "home.arpa", "internal", "lan")
"""RFC 6761, RFC 6762, RFC 8375, and two that home routers use."""


@dataclass(frozen=True, slots=True)
class Certificates:
    """Files for serving. authority : to be trusted by phones. fingerprint : its SHA-256, to be compared by eye."""

    authority: Path
    server: Path
    key: Path
    fingerprint: str


def certificates(folder: Path, names: Sequence[str], now: datetime) -> Certificates:
    """The certificates in `folder`, made or renewed where needed, for these names and addresses.

    The authority is made once and kept; the server's own is made anew when a name is added or it is about to run out. Raises
    BadInput where the folder cannot be used or a name is none of a private network.
    """
    refused = [
        Problem("--host", f"{name!r} is no name of a private network; use --behind-https there")
        for name in names
        if not own(name)
    ]
    if refused:
        raise BadInput(refused)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        authority, authority_key = _authority(folder, now)
        server, key = folder / "server.pem", folder / "server-key.pem"
        if not _good(server, key, authority, names, now):
            _write_server(server, key, authority, authority_key, names, now)
    except (OSError, ValueError) as error:
        text = f"cannot be used for certificates: {error}; mend it, or take it away to have new ones made"
        raise BadInput([Problem(str(folder), text)]) from None
    digits = authority.fingerprint(hashes.SHA256()).hex(":").upper()
    return Certificates(folder / "authority.pem", server, key, digits)


def own(name: str) -> bool:
    """Whether a name or address is one of a private network, which the authority may vouch for.

    >>> own("192.168.1.20"), own("desk.local"), own("workshop"), own("8.8.8.8"), own("example.com")
    (True, True, True, False, False)
    """
    with suppress(ValueError):
        address = ipaddress.ip_address(name)
        return any(
            address in ipaddress.ip_network(net) for net in PRIVATE if ipaddress.ip_network(net).version == address.version
        )
    return "." not in name or name.rpartition(".")[2] in DOMAINS or name.endswith(".home.arpa")


def own_names(host: str) -> list[str]:
    """What this machine is called on the networks that it is served on: addresses first, then names."""
    if host not in ("0.0.0.0", "::"):
        return [host, *(["localhost", "127.0.0.1"] if host in ("127.0.0.1", "localhost") else [])]
    found = [*_addresses(), "127.0.0.1", socket.gethostname(), f"{socket.gethostname().partition('.')[0]}.local", "localhost"]
    return [name for name in dict.fromkeys(found) if own(name)]


def _addresses() -> Iterable[str]:
    """Addresses by which others on the network reach this machine; nothing is sent to find them."""
    for family, far in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        with suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((far, 9))
            yield str(probe.getsockname()[0])


def _authority(folder: Path, now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    file, key_file = folder / "authority.pem", folder / "authority-key.pem"
    if file.exists() and key_file.exists():
        certificate = x509.load_pem_x509_certificate(file.read_bytes())
        if certificate.not_valid_after_utc > now + timedelta(days=RENEW_DAYS):
            return certificate, _key(key_file)
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"weldworth on {socket.gethostname()}"[:64])])
    host = socket.gethostname()
    permitted: list[x509.GeneralName] = [x509.DNSName(domain) for domain in dict.fromkeys((*DOMAINS, host))]
    permitted += [x509.IPAddress(ipaddress.ip_network(net)) for net in PRIVATE]
    usage = x509.KeyUsage(False, False, False, False, False, True, True, False, False)
    made = (
        _begun(name, name, key, now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(key_file, _pem(key), secret=True)
    _write(file, made.public_bytes(serialization.Encoding.PEM))
    return made, key


def _write_server(
    file: Path,
    key_file: Path,
    authority: x509.Certificate,
    signer: ec.EllipticCurvePrivateKey,
    names: Sequence[str],
    now: datetime,
) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "weldworth")])
    identifier = x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key())
    usage = x509.KeyUsage(True, False, False, False, False, False, False, False, False)
    made = (
        _begun(name, authority.subject, key, now, SERVER_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_general(one) for one in names]), critical=False)
        .add_extension(identifier, critical=False)
        .sign(signer, hashes.SHA256())
    )
    _write(key_file, _pem(key), secret=True)
    _write(file, b"".join(one.public_bytes(serialization.Encoding.PEM) for one in (made, authority)))


def _good(file: Path, key_file: Path, authority: x509.Certificate, names: Sequence[str], now: datetime) -> bool:
    """Whether the server's certificate is of this authority, lasts, and has all the names."""
    if not (file.exists() and key_file.exists()):
        return False
    found = x509.load_pem_x509_certificate(file.read_bytes())
    try:
        found.verify_directly_issued_by(authority)
    except Exception:  # of another authority, or damaged: it is made anew
        return False
    there = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    known = {str(one.value) for one in there}
    return set(names) <= known and found.not_valid_after_utc > now + timedelta(days=RENEW_DAYS)


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    builder = x509.CertificateBuilder().subject_name(subject).issuer_name(issuer).public_key(key.public_key())
    builder = builder.serial_number(x509.random_serial_number()).not_valid_before(now - timedelta(days=1))
    return builder.not_valid_after(now + timedelta(days=days))


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _key(file: Path) -> ec.EllipticCurvePrivateKey:
    key = serialization.load_pem_private_key(file.read_bytes(), password=None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise ValueError(f"{file.name} holds no key of ours")
    return key


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    plain = serialization.NoEncryption()
    return key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)


def _write(file: Path, data: bytes, *, secret: bool = False) -> None:
    """The file whole or not at all, readable by its owner alone where it is secret."""
    trial = file.with_name(f".{file.name}.part")
    descriptor = os.open(trial, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600 if secret else 0o644)
    with os.fdopen(descriptor, "wb") as out:
        out.write(data)
    os.replace(trial, file)
