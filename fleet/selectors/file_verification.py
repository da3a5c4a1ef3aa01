"""Read every kept file back, for the command that verifies."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

from fleet import store
from fleet.models import Damage, Exhibit, LedgerEntry, StoredFile


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
    for digest, size_bytes in _named_files():
        checked += 1
        reason = _fault_of(digest, size_bytes)
        if reason:
            faults.append(FileFault(sha256=digest, reason=reason))
    faults += _falsely_erased()
    erased = StoredFile.objects.filter(damage=Damage.ERASED).count()
    return FileChecks(files=checked, erased=erased, faults=tuple(faults))


def _falsely_erased() -> list[FileFault]:
    """Return exhibits that are marked erased while no ledger says so."""
    said: set[str] = set()
    for payload in LedgerEntry.objects.filter(kind="erased").values_list(
        "payload", flat=True
    ):
        for record in json.loads(payload)["records"]:
            said.update(record.get("files", ()))
    marked = StoredFile.objects.filter(damage=Damage.ERASED).values("sha256")
    rows = Exhibit.objects.filter(sha256__in=marked).exclude(sha256__in=said)
    return [
        FileFault(sha256=digest, reason="it is marked erased and no ledger says so")
        for digest in sorted(set(rows.values_list("sha256", flat=True)))
    ]


def _named_files() -> Iterator[tuple[str, int]]:
    known = StoredFile.objects.exclude(damage=Damage.ERASED).order_by("pk")
    yield from known.values_list("sha256", "size_bytes").iterator()
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
