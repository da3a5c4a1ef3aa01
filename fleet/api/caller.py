"""Who asks, what they may see, and what each kind of work asks of a role."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from django.contrib.auth.models import AnonymousUser

from fleet.errors import NotAllowed
from fleet.models import ApiKey, KeyRight, User
from fleet.scope import NOTHING, Scope, Sight


class Permit(StrEnum):
    """What an address lets a caller do."""

    READ = "READ"  # whatever lies in the caller's scope
    STAFF = "STAFF"  # office and technicians: to read what concerns no one owner
    RECORD = "RECORD"  # facts about coaches and roofs
    TAKE_PART = "TAKE_PART"  # registrations and claims of one's own coaches
    OFFICE = "OFFICE"  # owners, terms, waivers, merges
    LOOK_AFTER = "LOOK_AFTER"  # keys, people, sessions: somebody in person, never a key


class KeyLacksRight(NotAllowed):
    """The key is good, and was not given this right."""

    code = "key-lacks-right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caller:
    """One request's person, scope and moment."""

    user: User | AnonymousUser
    scope: Scope
    now: datetime
    key: ApiKey | None = None

    @property
    def sees_everything(self) -> bool:
        """Whether nothing recorded is withheld."""
        return self.scope.sight is Sight.EVERYTHING

    @property
    def owner_uuid(self) -> str:
        """The uuid of the owner whose manager asks; empty for staff."""
        owner = self.user.owner if isinstance(self.user, User) else None
        return str(owner.uuid) if owner else ""

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
        if permit is Permit.LOOK_AFTER and self.key is not None:
            raise KeyLacksRight("A key does not do this. Sign in in person.")
        if permit is Permit.STAFF and not self.sees_everything:
            raise NotAllowed("Only the office and its technicians see this.")

    def require_right(self, right: KeyRight) -> None:
        """Refuse what the key was not made for; people need no rights.

        Raises:
            KeyLacksRight: the key does not have this right.
        """
        if self.key is not None and right not in self.key.rights:
            raise KeyLacksRight(
                f"This key may not do that: it lacks the right {right.value!r}."
            )


# Before anybody has signed in, and where the document is made: sees nothing.
NOBODY = Caller(
    user=AnonymousUser(), scope=NOTHING, now=datetime(1970, 1, 1, tzinfo=UTC)
)
