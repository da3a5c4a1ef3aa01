"""Sealed cursors: a client can neither read the row ids in them nor write its own."""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import json
import secrets

from django.conf import settings

NONCE_BYTES = 8
TAG_BYTES = 12


def seal(values: list[object], *, where: str) -> str:
    """Return values as an opaque word that :func:`unseal` takes for one address."""
    plain = json.dumps(values, separators=(",", ":")).encode()
    nonce = secrets.token_bytes(NONCE_BYTES)
    body = nonce + _masked(plain, nonce)
    return base64.urlsafe_b64encode(_tag(body, where) + body).decode().rstrip("=")


def unseal(word: str, *, where: str) -> list[object] | None:
    """Return the values of a sealed word, or None when it is not one of ours."""
    try:
        raw = base64.urlsafe_b64decode(word + "=" * (-len(word) % 4))
    except (binascii.Error, ValueError):
        return None
    tag, body = raw[:TAG_BYTES], raw[TAG_BYTES:]
    if not hmac.compare_digest(tag, _tag(body, where)):
        return None
    plain = _masked(body[NONCE_BYTES:], body[:NONCE_BYTES])
    values: list[object] = json.loads(plain)
    return values


def _key(use: str) -> bytes:
    return hashlib.sha256(f"{use}:{settings.SECRET_KEY}".encode()).digest()


def _tag(body: bytes, where: str) -> bytes:
    about = where.encode() + b"\0" + body
    return hmac.digest(_key("cursor-tag"), about, "sha256")[:TAG_BYTES]


def _masked(data: bytes, nonce: bytes) -> bytes:
    """Return data under a key stream of its nonce; twice is the data again."""
    stream = b""
    for block in range(len(data) // 32 + 1):
        about = nonce + block.to_bytes(4, "big")
        stream += hmac.digest(_key("cursor-mask"), about, "sha256")
    return bytes(byte ^ mask for byte, mask in zip(data, stream, strict=False))
