"""What the arithmetic of day trips refuses."""

from __future__ import annotations


class TripInputError(ValueError):
    """An input that no day trips can be made from."""
