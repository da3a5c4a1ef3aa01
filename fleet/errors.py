"""The errors that the domain raises and every interface knows how to show."""

from __future__ import annotations


class DomainError(Exception):
    """A request the domain refuses, with a stable code and a sentence to act on."""

    code = "refused"
    http_status = 400

    def __init__(self, message: str, **detail: object) -> None:
        super().__init__(message)
        self.message = message
        self.detail = detail


class NotFound(DomainError):
    """No such record for this caller; a foreign record answers the same."""

    code = "not-found"
    http_status = 404


class NotAllowed(DomainError):
    """The caller is known and may not do this."""

    code = "not-allowed"
    http_status = 403


class RecordConflict(DomainError):
    """The same record id was used before with other content."""

    code = "record-conflict"
    http_status = 409
