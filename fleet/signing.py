"""The key that signs checkpoints: a file that only the register's account reads."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)
from django.conf import settings

from fleet.errors import DomainError

NEXT = ".next"
CHECKPOINT_MARK = b"roof-register checkpoint\n"
KEY_MARK = b"roof-register key\n"
PACKET_MARK = b"roof-register packet\n"


class NoSigningKey(DomainError):
    """There is no key file, or it is not the key that the register knows."""

    code = "no-signing-key"
    http_status = 409


class SigningKeyExposed(DomainError):
    """Others may read the key file."""

    code = "signing-key-exposed"
    http_status = 409


class SigningKeyExists(DomainError):
    """A key file is in the way."""

    code = "signing-key-exists"
    http_status = 409


class SecretKey:
    """A signing key in memory."""

    def __init__(self, key: Ed25519PrivateKey) -> None:
        self._key = key

    @property
    def public_hex(self) -> str:
        """Return the public half, hexadecimal."""
        return self._key.public_key().public_bytes_raw().hex()

    def sign(self, mark: bytes, text: str) -> str:
        """Return the signature of a text under a mark, hexadecimal. RFC 8032 5.1.6."""
        return self._key.sign(mark + text.encode()).hex()

    def seed_hex(self) -> str:
        """Return the secret itself, hexadecimal, for its file."""
        return self._key.private_bytes_raw().hex()


def new_key() -> SecretKey:
    """Return a fresh key."""
    return SecretKey(Ed25519PrivateKey.generate())


def is_signed(*, public_hex: str, signature_hex: str, mark: bytes, text: str) -> bool:
    """Return whether a key signed this text under this mark."""
    try:
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_hex))
        public.verify(bytes.fromhex(signature_hex), mark + text.encode())
    except (InvalidSignature, ValueError):
        return False
    return True


def write_key(key: SecretKey, *, path: Path) -> None:
    """Write a key to a new file that only this account reads.

    Raises:
        SigningKeyExists: the file is there.
    """
    write_secret(f"{key.seed_hex()}\n", path=path)


def write_secret(text: str, *, path: Path) -> None:
    """Write a text to a new file that only this account reads, forced to disk.

    Raises:
        SigningKeyExists: the file is there.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL
    try:
        handle = os.open(path, flags, 0o600)
    except FileExistsError:
        raise SigningKeyExists(
            f"{path} exists. A key is made once; to follow it by another, rotate it."
        ) from None
    with os.fdopen(handle, "w") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def read_key(*, public_hex: str) -> SecretKey:
    """Return the key whose public half the register knows.

    A rotation that was cut off after its record is finished here.

    Raises:
        NoSigningKey: there is none, or it is another.
        SigningKeyExposed: others may read it.
    """
    path = settings.SIGNING_KEY_FILE
    waiting = next_path()
    if waiting.exists() and _read(waiting).public_hex == public_hex:
        os.replace(waiting, path)
    if not path.exists():
        raise NoSigningKey(
            f"There is no signing key at {path}. Make one: manage.py checkpoint "
            "--make-key."
        )
    key = _read(path)
    if key.public_hex != public_hex:
        raise NoSigningKey(
            f"The key at {path} is not the one the register knows. Bring back the "
            "right file."
        )
    return key


def next_path() -> Path:
    """Return where a rotation keeps the new key until it is recorded."""
    path: Path = settings.SIGNING_KEY_FILE
    return path.with_name(path.name + NEXT)


def refuse_exposed(path: Path) -> None:
    """Refuse a key file that others may read.

    Raises:
        SigningKeyExposed: they may.
    """
    mode = stat.S_IMODE(path.stat().st_mode)
    if mode & 0o077:
        raise SigningKeyExposed(
            f"Others may read {path} (mode {mode:o}). Set it to 600, and follow the "
            "key by another if others had a chance to."
        )


def _read(path: Path) -> SecretKey:
    refuse_exposed(path)
    try:
        seed = bytes.fromhex(path.read_text().strip())
        return SecretKey(Ed25519PrivateKey.from_private_bytes(seed))
    except ValueError:
        raise NoSigningKey(f"{path} holds no key. Bring back the right file.") from None
