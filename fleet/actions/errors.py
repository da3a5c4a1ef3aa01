"""What the actions of this room refuse."""

from __future__ import annotations

from fleet.errors import DomainError


class InvalidValue(DomainError):
    """A value that cannot be recorded; ``field`` names it."""

    code = "invalid-value"

    def __init__(self, field: str, message: str, **detail: object) -> None:
        super().__init__(message, field=field, **detail)
        self.field = field


class CoachKnown(DomainError):
    """The office's number is taken by another coach."""

    code = "coach-known"
    http_status = 409


class NotARepair(DomainError):
    """Only a repair cures a finding."""

    code = "not-a-repair"
    http_status = 409


class AlreadyMerged(DomainError):
    """The record was merged before."""

    code = "already-merged"
    http_status = 409


class VisitKnown(DomainError):
    """The visit's reference is taken by another visit."""

    code = "visit-known"
    http_status = 409


class SystemKnown(DomainError):
    """The system's code is taken by another build."""

    code = "system-known"
    http_status = 409


class OwnerChanged(DomainError):
    """Somebody else changed the owner since this version was read."""

    code = "precondition-failed"
    http_status = 412
