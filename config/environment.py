"""Typed readers of environment variables: a wrong value stops the start."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from django.core.exceptions import ImproperlyConfigured

TRUE = frozenset({"1", "true", "yes", "on"})
FALSE = frozenset({"0", "false", "no", "off"})


def text(name: str, default: str | None = None) -> str:
    """Return a variable as it is; without a default it must be set."""
    value = os.environ.get(name, default)
    if value is None:
        raise ImproperlyConfigured(f"{name} must be set: expected a text.")
    return value


def boolean(name: str, *, default: str) -> bool:
    """Return a yes-or-no variable."""
    value = text(name, default).strip().lower()
    if value in TRUE:
        return True
    if value in FALSE:
        return False
    raise ImproperlyConfigured(f"{name} must be one of 1, 0, yes, no; got {value!r}.")


def integer(name: str, *, default: int, minimum: int = 0) -> int:
    """Return a whole number not below ``minimum``."""
    value = text(name, str(default))
    try:
        number = int(value)
    except ValueError:
        raise ImproperlyConfigured(
            f"{name} must be a whole number; got {value!r}."
        ) from None
    if number < minimum:
        raise ImproperlyConfigured(f"{name} must be at least {minimum}; got {number}.")
    return number


def words(name: str, *, default: str = "") -> list[str]:
    """Return a comma-separated list without blanks."""
    return [word.strip() for word in text(name, default).split(",") if word.strip()]


def days(name: str, *, default: str = "") -> list[date]:
    """Return a comma-separated list of dates, e.g. ``2026-07-03,2026-11-26``."""
    try:
        return [date.fromisoformat(word) for word in words(name, default=default)]
    except ValueError:
        raise ImproperlyConfigured(
            f"{name} must be dates like 2026-07-03, separated by commas; got "
            f"{text(name, default)!r}."
        ) from None


def folder(name: str, *, default: Path) -> Path:
    """Return a folder as an absolute path; it is made when first needed."""
    return Path(text(name, str(default))).expanduser().resolve()


def url(name: str, *, default: str, schemes: tuple[str, ...]) -> str:
    """Return an address whose scheme is one of ``schemes``, or an empty default."""
    value = text(name, default).strip()
    if value and urlsplit(value).scheme not in schemes:
        expected = ", ".join(f"{scheme}://" for scheme in schemes)
        raise ImproperlyConfigured(
            f"{name} must start with one of {expected}; got {value!r}."
        )
    return value


def database(name: str, *, default: str) -> dict[str, Any]:
    """Return Django's database settings from ``sqlite:///path`` or ``postgresql://``.

    A password with ``@`` or ``/`` in it is written percent-encoded.
    """
    value = url(name, default=default, schemes=("sqlite", "postgresql"))
    parts = urlsplit(value)
    if parts.scheme == "sqlite":
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": parts.path[1:] or ":memory:",
        }
    try:
        port = parts.port
    except ValueError:
        raise ImproperlyConfigured(f"{name} has a port that is no number.") from None
    if not parts.path.strip("/"):
        raise ImproperlyConfigured(f"{name} must end with the database's name.")
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.strip("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": parts.hostname or "",
        "PORT": str(port or ""),
        "OPTIONS": dict(parse_qsl(parts.query)),
    }
