"""What was promised and whether it holds: pure functions over columns."""

from __future__ import annotations
