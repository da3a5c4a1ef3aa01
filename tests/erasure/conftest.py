"""A roof of a fleet, and everybody who may ask about it."""

from __future__ import annotations

from tests.api.conftest import world

__all__ = ["world"]
