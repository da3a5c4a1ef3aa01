"""Who asks, what they may see, and what each kind of work asks of a role."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from django.contrib.auth.models import AnonymousUser

from fleet.errors import NotAllowed
from fleet.models import User
from fleet.scope import NOTHING, Scope, Sight


class Permit(StrEnum):
    """What an address lets a caller do."""

    READ = "READ"  # whatever lies in the caller's scope
    STAFF = "STAFF"  # office and technicians: to read what concerns no one owner
    RECORD = "RECORD"  # facts about coaches and roofs
    TAKE_PART = "TAKE_PART"  # registrations and claims of one's own coaches
    OFFICE = "OFFICE"  # owners, terms, waivers, merges


@dataclass(frozen=True, slots=True, kw_only=True)
class Caller:
    """One request's person, scope and moment."""

    user: User | AnonymousUser
    scope: Scope
    now: datetime
    # The name of the program that signed in with a key of its own; empty for people.
    key: str = ""

    @property
    def sees_everything(self) -> bool:
        """Whether nothing recorded is withheld."""
        return self.scope.sight is Sight.EVERYTHING

    @property
    def owner_uuid(self) -> str:
        """The uuid of the owner whose manager asks; empty for staff."""
        owner = self.user.owner if isinstance(self.user, User) else None
        return str(owner.uuid) if owner else ""

    @property
    def principal(self) -> str:
        """Under which name limits and kept answers of this caller count."""
        return self.key or f"user:{getattr(self.user, 'uuid', '')}"

    def require(self, permit: Permit) -> None:
        """Refuse what the caller's role does not include.

        Raises:
            NotAllowed: the role does not include it.
        """
        if permit is Permit.OFFICE and not self.scope.may_run_office:
            raise NotAllowed("Only the service office does this. Ask the office.")
        if permit is Permit.RECORD and not self.scope.may_write_records:
            raise NotAllowed(
                "Only the office and its technicians record this. Ask the office."
            )
        if permit is Permit.STAFF and not self.sees_everything:
            raise NotAllowed("Only the office and its technicians see this.")


# Before anybody has signed in, and where the document is made: sees nothing.
NOBODY = Caller(
    user=AnonymousUser(), scope=NOTHING, now=datetime(1970, 1, 1, tzinfo=UTC)
)
