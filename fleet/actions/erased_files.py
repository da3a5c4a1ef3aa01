"""Erase the bytes of files, and remember that they were erased and are not lost."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import partial

from django.db import transaction

from fleet import store
from fleet.models import (
    Damage,
    Derivative,
    Exhibit,
    LikenessBand,
    StoredFile,
    TrayPhoto,
    TrayState,
)

logger = logging.getLogger(__name__)


def erase_files(
    digests: Iterable[str], *, roof_ids: Sequence[int], now: datetime
) -> list[str]:
    """Erase originals and their small copies; return the hashes that were erased.

    Bytes that an exhibit of another roof or a photo in the tray names as well stay:
    they are somebody else's evidence too. The bytes go when the caller's transaction
    has committed; the nightly check removes what a crash left.
    """
    wanted = set(digests)
    wanted -= set(
        Exhibit.objects.filter(sha256__in=wanted)
        .exclude(roof_id__in=roof_ids)
        .values_list("sha256", flat=True)
    )
    wanted -= set(
        TrayPhoto.objects.filter(
            file__sha256__in=wanted, state=TrayState.WAITING
        ).values_list("file__sha256", flat=True)
    )
    copies = _copies_of(wanted)
    for digest in sorted(wanted | copies):
        _mark(digest, now)
    LikenessBand.objects.filter(file__sha256__in=wanted).delete()
    StoredFile.objects.filter(sha256__in=wanted).update(likeness=None)
    transaction.on_commit(partial(remove_erased, sorted(wanted | copies)))
    return sorted(wanted)


def remove_erased(digests: Iterable[str] | None = None) -> int:
    """Remove the bytes of erased files where they still are; return how many."""
    rows = StoredFile.objects.filter(damage=Damage.ERASED).order_by("pk")
    if digests is not None:
        rows = rows.filter(sha256__in=list(digests))
    removed = 0
    for digest in list(rows.values_list("sha256", flat=True)):
        if not store.has(digest):
            continue
        try:
            store.remove(digest)
        except store.NotKept as error:
            logger.error("Erased bytes are still there: %s", error.message)
        else:
            removed += 1
    return removed


def _copies_of(digests: set[str]) -> set[str]:
    """Return the copies that were made of these files and of no others."""
    made = Derivative.objects.filter(parent__sha256__in=digests)
    copies = set(made.values_list("sha256", flat=True))
    shared = Derivative.objects.filter(sha256__in=copies).exclude(
        parent__sha256__in=digests
    )
    return copies - set(shared.values_list("sha256", flat=True))


def _mark(digest: str, now: datetime) -> None:
    StoredFile.objects.update_or_create(
        sha256=digest,
        defaults={"damage": Damage.ERASED, "checked_at": now},
        create_defaults={
            "damage": Damage.ERASED,
            "checked_at": now,
            "kept_at": now,
            "size_bytes": 0,
            "media_type": "",
        },
    )
