"""Take away the documents on which an erased person's name stands."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from fleet.actions.erasure import ErasedDocument, Spans, is_within
from fleet.civil import office_day
from fleet.models import Owner
from warranty.models import Document, DocumentKind


def after_erasure(
    *, owner: Owner, held: Mapping[int, Spans], now: datetime
) -> list[ErasedDocument]:
    """Mark the documents of an erased owner's time and return which bytes go.

    Claim packets of their claims, certificates made out to them, and what was printed
    about a roof while they held it.
    """
    rows = Document.objects.filter(erased_at__isnull=True).select_related(
        "claim", "certificate", "visit"
    )
    of_roofs = (
        rows.filter(claim__roof__in=held)
        | rows.filter(certificate__roof__in=held)
        | rows.filter(visit__roof__in=held)
    )
    gone = [row for row in of_roofs.order_by("pk") if _names(row, owner, held)]
    Document.objects.filter(pk__in=[row.pk for row in gone]).update(erased_at=now)
    return [
        ErasedDocument(
            uuid=row.uuid,
            sha256=row.sha256,
            roof_id=_place(row)[0],
            size_bytes=row.size_bytes,
        )
        for row in gone
    ]


def _names(row: Document, owner: Owner, held: Mapping[int, Spans]) -> bool:
    roof_id, holder_id, day = _place(row)
    return holder_id == owner.pk or is_within(day, held[roof_id])


def _place(row: Document) -> tuple[int, int | None, date]:
    """Return the roof a document is about, whose it is, and the day it tells of."""
    printed = office_day(row.known_at)
    if row.kind == DocumentKind.CERTIFICATE:
        return row.certificate.roof_id, row.certificate.holder_id, printed
    if row.kind == DocumentKind.INSPECTION_REPORT:
        return row.visit.roof_id, None, row.visit.happened_on
    return row.claim.roof_id, row.claim.holder_id, row.claim.noticed_on
