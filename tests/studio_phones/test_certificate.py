"""The workshop's authority and certificate, checked by the verifier of cryptography (by OpenSSL in test_listening).

The rules that phones set: Apple, "Requirements for trusted certificates" (names among the alternatives, serverAuth,
SHA-2, at most 825 days), from memory; RFC 5280, 4.2.1.10, name constraints.
"""

from __future__ import annotations

import ipaddress
import os
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from tests.studio_phones.conftest import key_files
from wareboard.studio.phones import certificate
from wareboard.studio.phones.addresses import is_own, own_addresses, own_name

WHEN = datetime(2026, 11, 25, 12, tzinfo=UTC)
NAMES = ("192.168.1.20", "pottery.local")


def test_the_keys_are_readable_by_their_owner_only(tmp_path: Path) -> None:
    certificate.leaf(tmp_path, NAMES, "pottery", WHEN)
    keys = key_files(tmp_path)
    assert len(keys) == 2
    if os.name != "nt":
        assert {stat.S_IMODE(key.stat().st_mode) for key in keys} == {0o600}


def test_the_certificate_is_renewed_by_itself_and_only_when_it_is_due(tmp_path: Path) -> None:
    file, _, first = certificate.leaf(tmp_path, NAMES, "pottery", WHEN)
    body = file.read_bytes()
    assert first
    assert certificate.leaf(tmp_path, NAMES, "pottery", WHEN + timedelta(days=19))[2] is False
    assert file.read_bytes() == body
    assert certificate.leaf(tmp_path, NAMES, "pottery", WHEN + timedelta(days=21))[2] is True
    assert certificate.leaf(tmp_path, (*NAMES, "10.0.0.4"), "pottery", WHEN + timedelta(days=21))[2] is True
    above = certificate.authority(tmp_path, "pottery", WHEN)
    assert certificate.authority(tmp_path, "pottery", WHEN + timedelta(days=400)) == above


def test_it_meets_what_phones_ask_of_a_certificate(tmp_path: Path) -> None:
    file, _, _ = certificate.leaf(tmp_path, NAMES, "pottery", WHEN)
    shown = x509.load_pem_x509_certificate(file.read_bytes())
    assert certificate.names_in(shown) == set(NAMES)
    assert shown.not_valid_after_utc - shown.not_valid_before_utc <= timedelta(days=825)
    assert isinstance(shown.signature_hash_algorithm, hashes.SHA256)
    usage = shown.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [x509.oid.ExtendedKeyUsageOID.SERVER_AUTH]


def test_a_verifier_takes_it_for_its_own_names_and_for_no_other(tmp_path: Path) -> None:
    file, _, _ = certificate.leaf(tmp_path, NAMES, "pottery", WHEN)
    shown = x509.load_pem_x509_certificate(file.read_bytes())
    store = Store([certificate.authority(tmp_path, "pottery", WHEN)])

    def verify(name: x509.DNSName | x509.IPAddress) -> None:
        PolicyBuilder().store(store).time(WHEN).build_server_verifier(name).verify(shown, [])

    verify(x509.DNSName("pottery.local"))
    verify(x509.IPAddress(ipaddress.ip_address("192.168.1.20")))
    with pytest.raises(VerificationError):
        verify(x509.DNSName("other.local"))


def test_the_authority_may_not_speak_for_the_open_web(tmp_path: Path) -> None:
    """Even with its key stolen: a certificate for a public name, signed with it, is refused by the verifier."""
    above = certificate.authority(tmp_path, "pottery", WHEN)
    key = serialization.load_pem_private_key((tmp_path / "phones" / "authority.key").read_bytes(), None)
    stolen = ec.generate_private_key(ec.SECP256R1())
    forged = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([]))
        .issuer_name(above.subject)
        .public_key(stolen.public_key())
        .serial_number(7)
        .not_valid_before(WHEN)
        .not_valid_after(WHEN + timedelta(days=2))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("bank.example")]), critical=True)
        .add_extension(x509.ExtendedKeyUsage([x509.oid.ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(above.public_key()), critical=False)  # type: ignore[arg-type]
        .sign(key, hashes.SHA256())  # type: ignore[arg-type]
    )
    build = PolicyBuilder().store(Store([above])).time(WHEN + timedelta(days=1))
    with pytest.raises(VerificationError, match="constraint"):
        build.build_server_verifier(x509.DNSName("bank.example")).verify(forged, [])


def test_only_private_addresses_are_listed() -> None:
    assert all(is_own(each) for each in own_addresses())
    assert [
        is_own(each) for each in ("192.168.0.9", "10.1.2.3", "172.31.0.1", "127.0.0.1", "8.8.8.8", "172.32.0.1")
    ] == [
        True,
        True,
        True,
        False,
        False,
        False,
    ]
    assert own_name() == "" or own_name().endswith(".local")
