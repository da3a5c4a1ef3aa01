"""One small fleet with everything in it, and people who sign in with a password."""

from __future__ import annotations

from tests.api.conftest import World, world

__all__ = ["World", "world"]
