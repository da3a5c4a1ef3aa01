"""Whose rows a caller may see. Every query goes through one of these."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID


class Sight(StrEnum):
    """How far a caller sees."""

    EVERYTHING = "EVERYTHING"
    OWN_COACHES = "OWN_COACHES"
    NOTHING = "NOTHING"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """What one caller may see and write, and under which name their ids count."""

    sight: Sight
    owner_ids: tuple[int, ...] = ()
    record_scope: str = "office"
    may_write_records: bool = False
    may_run_office: bool = False
    # Whether people and keys are this caller's business; and who that is.
    may_look_after: bool = False
    user_id: int | None = None
    user_uuid: UUID | None = None


NOTHING = Scope(sight=Sight.NOTHING)
