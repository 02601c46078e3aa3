"""A certificate authority of the farm's own, good for its own network alone, and a certificate from it.

X.509 as RFC 5280 has it. The authority may only vouch for private addresses and local names (name
constraints, section 4.2.1.10): a phone that trusts it trusts it for nothing else. A certificate holds for
less than 397 days, the longest that browsers take.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

__all__ = ["LEAF", "Certified", "certify"]

CA_LIFE = timedelta(days=3650)
LEAF = timedelta(days=390)
RENEW = timedelta(days=30)
BEFORE = timedelta(days=1)
"""Phones whose clock is a little behind take the certificate all the same."""
NETWORKS = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "100.64.0.0/10", "127.0.0.0/8",
    "fc00::/7", "fe80::/10", "::1/128",
)  # fmt: skip
ZONES = ("localhost", "local", "lan", "home.arpa", "internal")


@dataclass(frozen=True, slots=True)
class Certified:
    """Files in PEM: the authority's certificate (for phones), the server's chain, its key."""

    authority: Path
    chain: Path
    key: Path

    def authority_der(self) -> bytes:
        """The authority's certificate as phones take it in."""
        held = x509.load_pem_x509_certificate(self.authority.read_bytes())
        return held.public_bytes(serialization.Encoding.DER)

    def fingerprint(self) -> str:
        """SHA-256 of the authority's certificate, as phones show it."""
        held = x509.load_pem_x509_certificate(self.authority.read_bytes())
        return held.fingerprint(hashes.SHA256()).hex(":").upper()


def certify(folder: Path, farm: str, names: Iterable[str], now: datetime) -> Certified:
    """A certificate for addresses and `names`, from the authority kept in `folder`: those there, as long as
    they hold for these names and for another month. Keys are for this user's eyes (mode 0600).

    An authority that does not vouch for one of the names (one outside the farm's network) is replaced: phones
    must be told to trust the new one.
    """
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    wanted = tuple(dict.fromkeys(names))
    made = Certified(folder / "authority.crt", folder / "server.crt", folder / "server.key")
    signer = folder / "authority.key"
    authority = _read(made.authority)
    if authority is None or not signer.exists() or not _vouches(authority, wanted, now + LEAF):
        _new_authority(made.authority, signer, farm, wanted, now)
        authority = _read(made.authority)
        assert authority is not None
    leaf = _read(made.chain)
    if leaf is None or not _holds(leaf, made.key, authority, wanted, now):
        _new_leaf(made, signer, authority, wanted, now)
    return made


def _new_authority(path: Path, signer: Path, farm: str, names: tuple[str, ...], now: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Leyfold, {farm}"[:64])])
    outside = [one for one in map(_general, names) if not _within(one, _SUBTREES)]
    permitted = [*_SUBTREES, *map(_subtree, outside)]
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now + CA_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(signer, _pem(key), 0o600)
    _write(path, made.public_bytes(serialization.Encoding.PEM), 0o644)


def _new_leaf(
    made: Certified, signer: Path, authority: x509.Certificate, names: tuple[str, ...], now: datetime
) -> None:
    ca_key = serialization.load_pem_private_key(signer.read_bytes(), None)
    assert isinstance(ca_key, ec.EllipticCurvePrivateKey)
    key = ec.generate_private_key(ec.SECP256R1())
    ski = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    leaf = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0][:64])]))
        .issuer_name(authority.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now + LEAF)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(map(_general, names)), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(ski), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(ca_key, hashes.SHA256())
    )
    _write(made.key, _pem(key), 0o600)
    _write(made.chain, leaf.public_bytes(serialization.Encoding.PEM), 0o644)


def _vouches(authority: x509.Certificate, names: tuple[str, ...], until: datetime) -> bool:
    permitted = (
        authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    )
    return authority.not_valid_after_utc > until and all(_within(_general(n), permitted) for n in names)


def _holds(
    leaf: x509.Certificate, key: Path, authority: x509.Certificate, names: tuple[str, ...], now: datetime
) -> bool:
    held = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    try:
        leaf.verify_directly_issued_by(authority)
        own = serialization.load_pem_private_key(key.read_bytes(), None).public_key()
    except (OSError, ValueError, TypeError, InvalidSignature):
        return False
    if own != leaf.public_key():
        return False
    current = leaf.not_valid_before_utc <= now < leaf.not_valid_after_utc - RENEW
    return current and set(held) == set(map(_general, names))


def _within(name: x509.GeneralName, permitted: Iterable[x509.GeneralName]) -> bool:
    if isinstance(name, x509.IPAddress) and isinstance(name.value, IPv4Address | IPv6Address):
        networks = [one.value for one in permitted if isinstance(one, x509.IPAddress)]
        return any(name.value in n for n in networks if isinstance(n, IPv4Network | IPv6Network))
    zones = [str(one.value) for one in permitted if isinstance(one, x509.DNSName)]
    return any(f".{name.value}".endswith(f".{zone}") for zone in zones)


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _subtree(name: x509.GeneralName) -> x509.GeneralName:
    return x509.IPAddress(ip_network(name.value)) if isinstance(name, x509.IPAddress) else name


_SUBTREES: tuple[x509.GeneralName, ...] = (
    *(x509.IPAddress(ip_network(network)) for network in NETWORKS),
    *map(x509.DNSName, ZONES),
)


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs, key_cert_sign=signs, crl_sign=signs, content_commitment=False,
        key_encipherment=False, data_encipherment=False, key_agreement=False, encipher_only=False,
        decipher_only=False,
    )  # fmt: skip


def _read(path: Path) -> x509.Certificate | None:
    try:
        return x509.load_pem_x509_certificate(path.read_bytes())
    except (OSError, ValueError):
        return None


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    form = serialization.PrivateFormat.PKCS8
    return key.private_bytes(serialization.Encoding.PEM, form, serialization.NoEncryption())


def _write(path: Path, content: bytes, mode: int) -> None:
    beside = path.with_name(f".{path.name}.new")
    beside.unlink(missing_ok=True)
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as out:
        out.write(content)
    os.replace(beside, path)
