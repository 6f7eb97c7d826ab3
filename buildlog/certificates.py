"""A local authority and a certificate for this machine, so that tablets can speak https without the internet."""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_LIVES = timedelta(days=365)
CERTIFICATE_LIVES = timedelta(days=397)  # browsers refuse those that live longer
RENEW_BEFORE = timedelta(days=30)
SAY_BEFORE = timedelta(days=30)
# Addresses that nobody on the internet has: RFC 1918, 3927, 4193, 4291.
PRIVATE = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8",
    "fc00::/7", "fe80::/10", "::1/128",
)  # fmt: skip
BACKDATED = timedelta(days=2)  # a tablet whose clock is a little slow still trusts it


@dataclass(frozen=True, slots=True)
class Files:
    """Where authority, certificate and keys lie; only the owner may read the keys."""

    authority: Path
    authority_key: Path
    certificate: Path
    key: Path

    @classmethod
    def within(cls, folder: Path) -> Files:
        names = ("authority.pem", "authority-key.pem", "certificate.pem", "key.pem")
        return cls(*(folder / name for name in names))

    def close_to_others(self) -> None:
        """Also where they were copied or restored with wider rights."""
        self.key.parent.chmod(0o700)
        for key in (self.authority_key, self.key):
            if key.exists():
                key.chmod(0o600)


def certify(folder: Path, hosts: Sequence[str], now: datetime) -> Files:
    """Make what is missing, runs out soon, or does not name all these hosts. Tablets trust an authority once."""
    folder.mkdir(mode=0o700, exist_ok=True)
    files = Files.within(folder)
    files.close_to_others()
    if not _authority_good(files, hosts, now):
        _make_authority(files, hosts, now)
    if not _still_good(files, hosts, now):
        _make_certificate(files, hosts, now)
    return files


def fingerprint(certificate: Path) -> str:
    """What a person compares before trusting the authority: SHA-256 in pairs."""
    digest = _read(certificate).fingerprint(hashes.SHA256()).hex().upper()
    return ":".join(digest[at : at + 2] for at in range(0, len(digest), 2))


def runs_out(authority: Path) -> datetime:
    """The moment from which no tablet trusts it any more."""
    return _read(authority).not_valid_after_utc


def _authority_good(files: Files, hosts: Sequence[str], now: datetime) -> bool:
    """It is there, is good today, and may vouch for all these hosts and for nothing else."""
    if not (files.authority.exists() and files.authority_key.exists()):
        return False
    authority = _read(files.authority)
    try:
        limits = authority.extensions.get_extension_for_class(x509.NameConstraints)
    except x509.ExtensionNotFound:
        return False
    permitted = set(limits.value.permitted_subtrees or [])
    return limits.critical and permitted >= set(_limits(hosts)) and authority.not_valid_after_utc > now


def _limits(hosts: Sequence[str]) -> list[x509.GeneralName]:
    """This machine's names and private addresses: whoever got hold of the key could pose as nothing on the internet."""
    networks = [ipaddress.ip_network(network) for network in PRIVATE]
    names: list[x509.GeneralName] = [x509.IPAddress(network) for network in networks]
    for host in map(_alternative, hosts):
        if isinstance(host, x509.DNSName):
            names.append(host)
        elif isinstance(host, x509.IPAddress) and not any(host.value in network for network in networks):
            names.append(x509.IPAddress(ipaddress.ip_network(host.value)))  # an address of this machine's own
    return list(dict.fromkeys(names))


def _make_authority(files: Files, hosts: Sequence[str], now: datetime) -> None:
    key, name = ec.generate_private_key(ec.SECP256R1()), _name("Ball builds, this machine's own authority")
    usage = x509.KeyUsage(False, False, False, False, False, True, True, False, False)
    made = (
        _begun(name, name, key.public_key(), now, AUTHORITY_LIVES)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(_limits(hosts), None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(files.authority_key, _pem(key))
    _write(files.authority, made.public_bytes(serialization.Encoding.PEM))


def _make_certificate(files: Files, hosts: Sequence[str], now: datetime) -> None:
    authority = _read(files.authority)
    authority_key = serialization.load_pem_private_key(files.authority_key.read_bytes(), None)
    if not isinstance(authority_key, ec.EllipticCurvePrivateKey):
        raise TypeError(f"{files.authority_key} holds another kind of key: remove it, a new one is made.")
    key = ec.generate_private_key(ec.SECP256R1())
    lives = min(CERTIFICATE_LIVES, authority.not_valid_after_utc - (now - BACKDATED))
    issuer_key = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
    made = (
        _begun(_name("Ball builds"), authority.subject, key.public_key(), now, lives)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([_alternative(host) for host in hosts]), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(issuer_key, critical=False)
        .sign(authority_key, hashes.SHA256())
    )
    _write(files.key, _pem(key))
    _write(files.certificate, made.public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name, issuer: x509.Name, public_key: ec.EllipticCurvePublicKey, now: datetime, lives: timedelta
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public_key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(now - BACKDATED + lives)
    )


def _still_good(files: Files, hosts: Sequence[str], now: datetime) -> bool:
    if not (files.certificate.exists() and files.key.exists()):
        return False
    made, authority = _read(files.certificate), _read(files.authority)
    names = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    named = {_alternative(host) for host in hosts} <= set(names)
    lasts = made.not_valid_after_utc > min(now + RENEW_BEFORE, authority.not_valid_after_utc - timedelta(seconds=1))
    return named and _signed_by(made, authority) and lasts


def _signed_by(made: x509.Certificate, authority: x509.Certificate) -> bool:
    try:
        made.verify_directly_issued_by(authority)
    except (ValueError, TypeError, InvalidSignature):
        return False
    return True


def _alternative(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(host.strip("[]")))
    except ValueError:
        return x509.DNSName(host if host.isascii() else host.encode("idna").decode())


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _read(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(path: Path, content: bytes) -> None:
    """Aside and then in place: half a key is never read, and nobody else may read a whole one."""
    aside = path.with_suffix(".new")
    aside.unlink(missing_ok=True)
    with open(os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(content)
    os.replace(aside, path)
