"""Signatures by the Standard Webhooks specification, symmetric scheme ``v1``."""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
from collections.abc import Sequence

PREFIX = "whsec_"
# The specification asks for 24 to 64 random bytes.
SECRET_BYTES = 32
SECRET_BYTES_MIN, SECRET_BYTES_MAX = 24, 64


class SecretInputError(ValueError):
    """A text that is no webhook secret."""


def new_secret() -> str:
    """Return a fresh secret as the receiver keeps it."""
    return PREFIX + base64.b64encode(secrets.token_bytes(SECRET_BYTES)).decode()


def key_of(secret: str) -> bytes:
    """Return the key that a secret spells.

    Raises:
        SecretInputError: it is not base64, or too short or long.
    """
    try:
        key = base64.b64decode(secret.removeprefix(PREFIX), validate=True)
    except ValueError:
        raise SecretInputError("The secret must be whsec_ and base64.") from None
    if not SECRET_BYTES_MIN <= len(key) <= SECRET_BYTES_MAX:
        raise SecretInputError(
            f"The secret must have {SECRET_BYTES_MIN} to {SECRET_BYTES_MAX} bytes; "
            f"got {len(key)}."
        )
    return key


def signature(*, secret: str, message_id: str, timestamp: int, body: bytes) -> str:
    """Return one signature, ``v1,`` and base64 of HMAC-SHA256 over id, time and body.

    Raises:
        SecretInputError: the secret is none.
        ValueError: the id has a full stop, which would blur where it ends.
    """
    if "." in message_id:
        raise ValueError(f"message_id must have no full stop, got {message_id!r}")
    signed = f"{message_id}.{timestamp}.".encode() + body
    digest = hmac.new(key_of(secret), signed, hashlib.sha256).digest()
    return "v1," + base64.b64encode(digest).decode()


def headers_of(
    *, secrets_live: Sequence[str], message_id: str, timestamp: int, body: bytes
) -> dict[str, str]:
    """Return the three headers; while a secret is rotated, both sign.

    Raises:
        ValueError: no secret is live.
    """
    if not secrets_live:
        raise ValueError("secrets_live must name at least one secret, got none")
    signatures = [
        signature(secret=secret, message_id=message_id, timestamp=timestamp, body=body)
        for secret in secrets_live
    ]
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": " ".join(signatures),
    }
