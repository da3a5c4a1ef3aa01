"""How dates and moments are written on the command line."""

from __future__ import annotations

from argparse import ArgumentTypeError
from datetime import date, datetime


def day(text: str) -> date:
    """Read a civil date, as in 2026-11-01."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(
            f"{text!r} is no date. Write it as 2026-11-01."
        ) from None


def moment(text: str) -> datetime:
    """Read an instant with its offset, as in 2026-11-01T12:00:00Z."""
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(
            f"{text!r} is no time. Write it as 2026-11-01T12:00:00Z."
        ) from None
    if instant.tzinfo is None:
        raise ArgumentTypeError(f"{text!r} needs an offset, as in {text}Z.")
    return instant
