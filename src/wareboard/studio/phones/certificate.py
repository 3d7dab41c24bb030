"""The workshop's own small authority, and the short-lived certificate with which the studio shows itself to phones.

The authority may speak for private addresses and names in .local alone, so that a phone which trusts it cannot be led
astray by it elsewhere, even if its key were stolen. Both keys stay in the workshop folder and in no backup.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from wareboard.studio.private_file import write_private
from wareboard.studio.settings_table import OWN_NETWORKS, THIS_MACHINE

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

FOLDER = "phones"
AUTHORITY_KEY, AUTHORITY = "authority.key", "authority.pem"
LEAF_KEY, LEAF = "studio.key", "studio.pem"
AUTHORITY_DAYS, LEAF_DAYS, RENEW_DAYS = 3650, 30, 10


def authority(folder: Path, name: str, when: datetime) -> x509.Certificate:
    """The workshop's authority; made, once, where there is none.

    Args:
        folder: the workshop folder.
        name: what phones show it as, such as the machine's name.
        when: the present, with its zone.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    place = folder / FOLDER
    if (place / AUTHORITY).is_file() and (place / AUTHORITY_KEY).is_file():
        there = x509.load_pem_x509_certificate((place / AUTHORITY).read_bytes())
        if there.not_valid_after_utc > when + timedelta(days=LEAF_DAYS):
            return there
    place.mkdir(exist_ok=True)
    key = _new_key()
    subject = _named(f"Wareboard workshop, {name}"[:64])
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(when - timedelta(days=1))
        .not_valid_after(when + timedelta(days=AUTHORITY_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(_own_ground(), None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _keep(place, AUTHORITY_KEY, key, AUTHORITY, made)
    return made


def leaf(folder: Path, names: Sequence[str], name: str, when: datetime) -> tuple[Path, Path, bool]:
    """The studio's certificate and key for these names; whether it was made anew.

    It is made anew where a name is missing, where less than ten days are left, or where the authority is another.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization

    place, above = folder / FOLDER, authority(folder, name, when)
    certificate, key_file = place / LEAF, place / LEAF_KEY
    if certificate.is_file() and key_file.is_file() and _still_good(certificate, above, names, when):
        return certificate, key_file, False
    above_key = serialization.load_pem_private_key((place / AUTHORITY_KEY).read_bytes(), None)
    key = _new_key()
    made = (
        x509.CertificateBuilder()
        .subject_name(_named("Wareboard studio"))
        .issuer_name(above.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(when - timedelta(days=1))
        .not_valid_after(when + timedelta(days=LEAF_DAYS))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([x509.oid.ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_alternative(each) for each in names]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(above.public_key()), critical=False)  # type: ignore[arg-type]
        .sign(above_key, hashes.SHA256())  # type: ignore[arg-type]
    )
    _keep(place, LEAF_KEY, key, LEAF, made)
    return certificate, key_file, True


def names_in(certificate: x509.Certificate) -> set[str]:
    """The addresses and names that a certificate speaks for."""
    from cryptography import x509

    held = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {*held.get_values_for_type(x509.DNSName), *map(str, held.get_values_for_type(x509.IPAddress))}


def fingerprint(certificate: x509.Certificate) -> str:
    """The SHA-256 fingerprint as phones show it: pairs of signs, with colons between."""
    from cryptography.hazmat.primitives import hashes

    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def for_phones(folder: Path) -> bytes | None:
    """The authority's certificate, without its key, as phones take it (DER); None where there is none."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    place = folder / FOLDER / AUTHORITY
    if not place.is_file():
        return None
    return x509.load_pem_x509_certificate(place.read_bytes()).public_bytes(Encoding.DER)


def _still_good(file: Path, above: x509.Certificate, names: Sequence[str], when: datetime) -> bool:
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature

    there = x509.load_pem_x509_certificate(file.read_bytes())
    try:
        there.verify_directly_issued_by(above)
    except (InvalidSignature, ValueError, TypeError):
        return False
    return names_in(there) >= set(names) and there.not_valid_after_utc > when + timedelta(days=RENEW_DAYS)


def _keep(place: Path, key_name: str, key: EllipticCurvePrivateKey, name: str, certificate: x509.Certificate) -> None:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    write_private(place / key_name, key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    write_private(place / name, certificate.public_bytes(Encoding.PEM))


def _new_key() -> EllipticCurvePrivateKey:
    from cryptography.hazmat.primitives.asymmetric import ec

    return ec.generate_private_key(ec.SECP256R1())


def _named(words: str) -> x509.Name:
    from cryptography import x509

    return x509.Name([x509.NameAttribute(x509.oid.NameOID.COMMON_NAME, words)])


def _alternative(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _own_ground() -> list[x509.GeneralName]:
    from cryptography import x509

    return [x509.DNSName("local"), *(x509.IPAddress(network) for network in (*OWN_NETWORKS, THIS_MACHINE))]


def _usage(signs: bool) -> x509.KeyUsage:
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs,
        crl_sign=signs,
        encipher_only=False,
        decipher_only=False,
    )


def present() -> datetime:
    """This moment, for certificates: they count in UTC whatever the workshop's day is."""
    return datetime.now(UTC)
