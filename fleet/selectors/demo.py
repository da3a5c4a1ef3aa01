"""Whether the records here are the invented ones of the demo."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from fleet.models import User

# By this id a database is known to hold the demo.
DEMO_OFFICE_ID: Final = UUID("5f0c1e52-6d0b-4a7e-9a53-0d3d6f1a7c01")


def is_demo_here() -> bool:
    """Return whether this database holds the demo."""
    return User.objects.filter(uuid=DEMO_OFFICE_ID).exists()
