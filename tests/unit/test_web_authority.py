"""The farm's own certificate authority: what it vouches for, how long, and a phone's handshake with it."""

from __future__ import annotations

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtensionOID

from leyfold.web.authority import Certified, certify

NOW = datetime.now(UTC)
NAMES = ("192.168.7.20", "127.0.0.1", "barn.local")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Certified:
    return certify(tmp_path_factory.mktemp("tls"), "Sedge Rise", NAMES, NOW)


def leaf_of(made: Certified) -> x509.Certificate:
    return x509.load_pem_x509_certificate(made.chain.read_bytes())


def test_a_leaf_holds_for_less_than_browsers_allow_and_names_what_is_asked(made: Certified) -> None:
    leaf = leaf_of(made)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    names = leaf.extensions.get_extension_for_oid(ExtensionOID.SUBJECT_ALTERNATIVE_NAME).value
    assert {str(n.value) for n in names} == set(NAMES)  # type: ignore[attr-defined]


def test_the_authority_vouches_for_the_farms_own_network_alone(made: Certified) -> None:
    authority = x509.load_pem_x509_certificate(made.authority.read_bytes())
    limits = authority.extensions.get_extension_for_oid(ExtensionOID.NAME_CONSTRAINTS)
    assert limits.critical
    allowed = [str(n.value) for n in limits.value.permitted_subtrees]  # type: ignore[attr-defined]
    assert "192.168.0.0/16" in allowed
    assert not {"0.0.0.0/0", "::/0", ""} & set(allowed)


def test_keys_are_for_one_pair_of_eyes(made: Certified) -> None:
    for key in made.key.parent.glob("*.key"):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600, key
    assert stat.S_IMODE(made.key.parent.stat().st_mode) == 0o700


def test_the_same_names_keep_the_certificate_and_a_new_address_keeps_the_trust(tmp_path: Path) -> None:
    first = certify(tmp_path, "Sedge Rise", NAMES, NOW)
    chain, authority = first.chain.read_bytes(), first.authority.read_bytes()
    assert certify(tmp_path, "Sedge Rise", NAMES, NOW).chain.read_bytes() == chain
    moved = certify(tmp_path, "Sedge Rise", ("192.168.9.4",), NOW)
    assert moved.chain.read_bytes() != chain
    assert moved.authority.read_bytes() == authority
    late = certify(tmp_path, "Sedge Rise", ("192.168.9.4",), NOW + timedelta(days=380))
    assert leaf_of(late).not_valid_after_utc > NOW + timedelta(days=400)


def shake(made: Certified, name: str, trusted: bool) -> str:
    """A client's handshake with a server that shows the certificate: its TLS version, or why it refused."""
    ours = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    ours.load_cert_chain(made.chain, made.key)
    line = socket.create_server(("127.0.0.1", 0))

    def answer() -> None:
        taken, _ = line.accept()
        try:
            ours.wrap_socket(taken, server_side=True).close()
        except OSError:
            taken.close()

    thread = threading.Thread(target=answer)
    thread.start()
    theirs = ssl.create_default_context(cafile=str(made.authority) if trusted else None)
    try:
        with (
            socket.create_connection(line.getsockname()) as wire,
            theirs.wrap_socket(wire, server_hostname=name) as tls,
        ):
            return str(tls.version())
    except ssl.SSLCertVerificationError as no:
        return no.verify_message
    finally:
        thread.join()
        line.close()


def test_a_phone_that_trusts_the_authority_gets_through_and_no_other(made: Certified) -> None:
    assert shake(made, "127.0.0.1", trusted=True) in ("TLSv1.3", "TLSv1.2")
    assert "issuer" in shake(made, "127.0.0.1", trusted=False)
    assert "mismatch" in shake(made, "10.9.9.9", trusted=True)
