"""The key and the X.509 certificate that sign claim packets: one file of the office."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.rsa import (
    RSAPrivateKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import NameOID
from django.conf import settings

from fleet.errors import DomainError
from fleet.signing import refuse_exposed, write_secret

# RSA with PKCS #1 v1.5 padding: every PDF reader checks it, and so does a program that
# has nothing but the standard library. ETSI TS 119 312 lists 3072 bits (from memory).
KEY_BITS = 3072
SMALLEST_KEY_BITS = 2048
VALID_FOR = timedelta(days=3653)
MAKE_ONE = "Make one: manage.py packet_key --make."


class NoPacketKey(DomainError):
    """There is no file with a key that signs packets, or it cannot sign today."""

    code = "no-packet-key"
    http_status = 409


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketKey:
    """A private key, its certificate, and the certificates above it, if any."""

    key: RSAPrivateKey
    certificate: x509.Certificate
    above: tuple[x509.Certificate, ...] = ()

    @property
    def certificate_sha256(self) -> str:
        """Return the hash of the certificate's DER form, by which it is known."""
        return sha256(self.certificate_der).hexdigest()

    @property
    def certificate_der(self) -> bytes:
        """Return the certificate. X.690 DER."""
        return self.certificate.public_bytes(Encoding.DER)

    @property
    def above_der(self) -> tuple[bytes, ...]:
        """Return the certificates above it, nearest first."""
        return tuple(each.public_bytes(Encoding.DER) for each in self.above)

    @property
    def key_der(self) -> bytes:
        """Return the private key itself. PKCS #8."""
        return self.key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())


def make_packet_key(*, name: str, path: Path, now: datetime) -> PacketKey:
    """Make a key with a certificate that vouches for itself, and write both.

    Raises:
        SigningKeyExists: the file is there.
    """
    key = generate_private_key(public_exponent=65537, key_size=KEY_BITS)
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    certificate = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        # A machine whose clock is behind reads it too.
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + VALID_FOR)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .sign(key, SHA256())
    )
    made = PacketKey(key=key, certificate=certificate)
    write_secret(_pem(made), path=path)
    return made


def read_packet_key(*, now: datetime) -> PacketKey:
    """Return the key that signs packets.

    Raises:
        NoPacketKey: there is none, or it cannot sign today.
        SigningKeyExposed: others may read it.
    """
    path: Path = settings.PACKET_KEY_FILE
    if not path.exists():
        raise NoPacketKey(f"There is no key for claim packets at {path}. {MAKE_ONE}")
    refuse_exposed(path)
    try:
        content = path.read_bytes()
        key = load_pem_private_key(content, password=None)
        certificate, *above = x509.load_pem_x509_certificates(content)
    except (ValueError, TypeError):
        raise NoPacketKey(
            f"{path} must hold an unencrypted private key and its certificate, both "
            "as PEM. Bring back the right file."
        ) from None
    if not isinstance(key, RSAPrivateKey) or key.key_size < SMALLEST_KEY_BITS:
        raise NoPacketKey(
            f"The key in {path} must be an RSA key of at least {SMALLEST_KEY_BITS} "
            "bits: readers without further programs can check no other."
        )
    if certificate.public_key() != key.public_key():
        raise NoPacketKey(
            f"The first certificate in {path} is not the one of its key. Put the "
            "key's own certificate first, then those above it."
        )
    if not certificate.not_valid_before_utc <= now <= certificate.not_valid_after_utc:
        raise NoPacketKey(
            f"The certificate in {path} is valid from "
            f"{certificate.not_valid_before_utc:%Y-%m-%d} to "
            f"{certificate.not_valid_after_utc:%Y-%m-%d}. Move the file away, then "
            "put a valid one there or make one: manage.py packet_key --make."
        )
    return PacketKey(key=key, certificate=certificate, above=tuple(above))


def _pem(made: PacketKey) -> str:
    secret = made.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return (secret + made.certificate.public_bytes(Encoding.PEM)).decode()
