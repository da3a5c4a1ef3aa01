"""Erase a person together with the documents that tell of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime
from uuid import UUID

from fleet.actions.erasure import erase_owner
from fleet.models import Owner, User
from warranty.models import Document


def erase_person(
    *,
    owner: Owner,
    why: str,
    by: User,
    now: datetime,
    exhibits: Collection[UUID] = (),
) -> tuple[int, ...]:
    """Erase an owner, what they signed, the exhibits they name, and the bytes of
    their claim packets and certificates.

    Returns the ids of the roofs whose ledgers got a tombstone.
    """
    return erase_owner(
        owner=owner,
        why=why,
        by=by,
        now=now,
        exhibits=exhibits,
        documents=_documents_of(owner),
    )


def _documents_of(owner: Owner) -> dict[int, set[str]]:
    found: dict[int, set[str]] = defaultdict(set)
    for path in ("claim", "certificate"):
        rows = Document.objects.filter(**{f"{path}__holder": owner})
        for roof_id, digest in rows.values_list(f"{path}__roof_id", "sha256"):
            found[roof_id].add(digest)
    return found
