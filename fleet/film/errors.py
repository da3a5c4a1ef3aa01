"""What the film room raises."""

from __future__ import annotations


class FilmInputError(ValueError):
    """A film input is missing, not finite, or outside the range it must lie in."""
