"""Read every kept file back, for the command that verifies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fleet import store
from fleet.models import Exhibit, StoredFile


@dataclass(frozen=True, slots=True, kw_only=True)
class FileFault:
    """A kept file that is no longer what it was."""

    sha256: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FileChecks:
    """What reading every kept file came to."""

    files: int
    erased: int
    faults: tuple[FileFault, ...]


def verify_files() -> FileChecks:
    """Read every file that an exhibit or the store's own list names."""
    checked, faults = 0, []
    gone = StoredFile.objects.filter(erased_at__isnull=False).order_by("pk")
    digests = list(gone.values_list("sha256", flat=True))
    faults.extend(
        FileFault(sha256=digest, reason="the file was erased and is still kept")
        for digest in digests
        if store.has(digest)
    )
    for digest, size_bytes in _named_files():
        checked += 1
        reason = _fault_of(digest, size_bytes)
        if reason:
            faults.append(FileFault(sha256=digest, reason=reason))
    return FileChecks(files=checked, erased=len(digests), faults=tuple(faults))


def _named_files() -> Iterator[tuple[str, int]]:
    here = StoredFile.objects.filter(erased_at__isnull=True)
    known = here.order_by("pk").values_list("sha256", "size_bytes")
    yield from known.iterator()
    # A row of the store's list can be lost; what the ledger names cannot.
    listed = StoredFile.objects.values("sha256")
    unlisted = Exhibit.objects.exclude(sha256__in=listed).order_by("sha256")
    yield from unlisted.values_list("sha256", "size_bytes").distinct().iterator()


def _fault_of(digest: str, size_bytes: int) -> str:
    try:
        found = store.check(digest)
    except store.FileGone:
        return "the file is gone"
    except store.FileDamaged:
        return "the file was changed where it is kept"
    return "" if found == size_bytes else "the file has another size than recorded"
