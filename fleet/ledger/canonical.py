"""Canonical JSON and the hashes that stand for texts and payloads."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping


class CanonicalError(ValueError):
    """A value that has no canonical form."""


def canonical_json(value: Mapping[str, object]) -> str:
    """Return the one spelling of a payload: sorted keys, no spaces, no floats.

    Parameters
    ----------
    value : mapping
        Keys are ASCII names; values are texts, whole numbers, booleans, null, lists
        or mappings of the same. Measured values travel as decimal texts.

    Returns
    -------
    str
        JSON text whose UTF-8 bytes are hashed.

    Raises
    ------
    CanonicalError
        If a float, a non-text key or another type occurs.

    References
    ----------
    .. [1] RFC 8785 (JSON Canonicalization Scheme), restricted to values for which
       sorted keys and minimal separators are already its form.
    """
    _check(value, "payload")
    return json.dumps(
        value,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    )


def _check(value: object, place: str) -> None:
    if isinstance(value, Mapping):
        for key, item in value.items():
            if not isinstance(key, str) or not key.isascii():
                raise CanonicalError(
                    f"{place} has a key that is no ASCII name: {key!r}."
                )
            _check(item, f"{place}.{key}")
    elif isinstance(value, list | tuple):
        for position, item in enumerate(value):
            _check(item, f"{place}[{position}]")
    elif not (value is None or isinstance(value, str | bool | int)):
        kind = type(value).__name__
        raise CanonicalError(f"{place} has a {kind}: write it as a decimal text.")


def sha256_hex(text: str) -> str:
    """Return the SHA-256 of a text's UTF-8 bytes, in hexadecimal.

    References
    ----------
    .. [1] FIPS 180-4 (Secure Hash Standard).
    """
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def salted_sha256(salt: str, text: str) -> str:
    """Return the hash that stands for a free text: SHA-256(salt, newline, text)."""
    return sha256_hex(f"{salt}\n{text}")
