"""The certificate that the desk shows to other rooms: made on the spot and kept, or the clinic's own."""

from __future__ import annotations

import ipaddress
import os
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from homecare.core.problems import InputFault, Problem, Source

DAYS = timedelta(days=397)
"""So long one holds: what browsers take at most (CA/Browser Forum Baseline Requirements 6.3.2, from memory)."""
RENEWED = timedelta(days=30)
"""So long before its end a new one is made at a start, with a new fingerprint."""


@dataclass(frozen=True)
class Certificate:
    """A certificate and its key, as files; the names it is for, small letters; its SHA-256 in pairs of letters."""

    file: Path
    key: Path
    names: frozenset[str]
    fingerprint: str
    own: bool


def kept_certificate(folder: Path, names: Sequence[str], now: datetime) -> Certificate:
    """The certificate in a folder, made for `names` when there is none or it soon ends. Raises InputFault.

    It stays the same when the machine's addresses change: what a person compares is its fingerprint.
    """
    file, key = folder / "desk.crt", folder / "desk.key"
    try:
        found = x509.load_pem_x509_certificate(file.read_bytes()) if file.exists() and key.exists() else None
        if found is None or found.not_valid_after_utc - now < RENEWED:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            found = _made(file, key, names, now)
    except (OSError, ValueError) as error:
        because = getattr(error, "strerror", None) or "its files are damaged: delete them, and a new one is made"
        raise _fault(folder, f"the certificate cannot be kept here: {because}") from error
    return _told(found, file, key, own=False)


def own_certificate(file: Path, key: Path) -> Certificate:
    """The clinic's own certificate, with those that it leads to after it, and its key. Raises InputFault."""
    try:
        found = x509.load_pem_x509_certificate(file.read_bytes())
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(file, key, password=lambda: "")
    except (OSError, ValueError) as error:  # ssl.SSLError is an OSError: a key of another certificate, or one locked
        because = "there is no such file" if isinstance(error, FileNotFoundError) else "the two do not go together"
        raise _fault(file, f"this certificate cannot be used with that key: {because}") from error
    return _told(found, file, key, own=True)


def _fault(path: Path, message: str) -> InputFault:
    hint = "both are PEM files, and the key has no password"
    return InputFault([Problem(Source(str(path)), "certificate", message, hint)])


def _told(found: x509.Certificate, file: Path, key: Path, *, own: bool) -> Certificate:
    print_ = found.fingerprint(hashes.SHA256()).hex(":").upper()
    try:
        said = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return Certificate(file, key, frozenset(), print_, own)
    names = [*said.get_values_for_type(x509.DNSName), *map(str, said.get_values_for_type(x509.IPAddress))]
    return Certificate(file, key, frozenset(name.lower() for name in names), print_, own)


def _made(file: Path, key: Path, names: Sequence[str], now: datetime) -> x509.Certificate:
    """Make a certificate that vouches for itself alone: whoever trusts it trusts this desk and nothing else."""
    private = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Home care desk")])
    made = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))  # clocks of other rooms may be slow
        .not_valid_after(now + DAYS)
        .add_extension(x509.SubjectAlternativeName([_name(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(private, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    letters = private.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)
    _write(key, letters)
    _write(file, made.public_bytes(serialization.Encoding.PEM))
    return made


def _name(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _write(path: Path, content: bytes) -> None:
    """Write a file for this user alone, whole or not at all."""
    part = path.with_suffix(".part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as stream:
        stream.write(content)
    part.replace(path)
