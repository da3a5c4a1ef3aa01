"""What the site room raises."""

from __future__ import annotations


class SiteInputError(ValueError):
    """A site input is missing, not finite, or outside the range it must lie in."""
