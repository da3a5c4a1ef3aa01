"""What the store refuses."""

from __future__ import annotations

from fleet.errors import DomainError


class FileGone(DomainError):
    """The bytes behind a hash are not in the store."""

    code = "file-gone"
    http_status = 404

    def __init__(self, digest: str) -> None:
        super().__init__(
            "The file is not in the store. Restore it from a backup.", sha256=digest
        )


class FileErased(DomainError):
    """The bytes behind a hash were erased because a person asked for it."""

    code = "file-erased"
    http_status = 410

    def __init__(self, digest: str) -> None:
        super().__init__(
            "The file was erased on request. Its hash stays in the ledger.",
            sha256=digest,
        )


class FileDamaged(DomainError):
    """The bytes in the store no longer have the hash they are kept under."""

    code = "file-damaged"
    http_status = 500


class NotKept(DomainError):
    """The disk or the object store failed while a file was being kept."""

    code = "not-kept"
    http_status = 503

    def __init__(self, reason: object) -> None:
        super().__init__(
            "The file could not be kept safely and was not recorded. Send it again; "
            "if it stays, tell the office.",
            reason=str(reason),
        )


class TooLarge(DomainError):
    """More bytes than a file may have."""

    code = "too-large"
    http_status = 413
