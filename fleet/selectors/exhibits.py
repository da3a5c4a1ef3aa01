"""Exhibits, who may see them, and what else looks like them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from fleet.exhibits.likeness import ALIKE_DISTANCE, bands_of, distance, near_bands
from fleet.exhibits.matching import Place, VisitDay, parsed_place
from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    Damage,
    Exhibit,
    LikenessBand,
    Look,
    StoredFile,
    TrayPhoto,
    Visit,
)
from fleet.scope import Scope, Sight

SIGNED_BITS = 1 << 64


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimPlace:
    """Where a claim belongs: which roof, and who held the coach."""

    roof_id: int
    holder_id: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenElsewhere:
    """Another exhibit with the same bytes or a like picture. A hint, not a finding."""

    exhibit: Exhibit
    distance: int  # differing bits of 64
    is_same_file: bool


def exhibits_visible_to(scope: Scope) -> QuerySet[Exhibit]:
    """Return the exhibits a caller may see.

    An owner sees those of the coaches they hold, and those of their own claims; what
    belongs to a claim stays with who held the coach then.
    """
    rows = Exhibit.objects.select_related(
        "roof", "visit", "finding", "caption", "place", "recorded_by"
    )
    if scope.sight is Sight.EVERYTHING:
        return rows
    if scope.sight is Sight.OWN_COACHES:
        own = Q(claim__isnull=True, roof__coach__holder_id__in=scope.owner_ids)
        return rows.filter(own | Q(claim_holder_id__in=scope.owner_ids))
    return rows.none()


def exhibits_that_count(
    roof_id: int, *, known_at: datetime | None = None
) -> list[Exhibit]:
    """Return a roof's exhibits that no later record replaced or struck."""
    rows = Exhibit.objects.filter(roof_id=roof_id).select_related("visit", "caption")
    if known_at is not None:
        rows = rows.filter(recorded_at__lte=known_at)
    return list(rows_that_stand(list(rows.order_by("pk"))).rows)


def exhibit_under(uuid: UUID, scope_name: str) -> Exhibit | None:
    """Return what the same caller recorded under this uuid before."""
    return Exhibit.objects.filter(scope=scope_name, uuid=uuid).first()


def files_of(digests: Iterable[str]) -> dict[str, StoredFile]:
    """Return what is known of the bytes behind these hashes, with their copies."""
    rows = StoredFile.objects.filter(sha256__in=set(digests))
    return {row.sha256: row for row in rows.prefetch_related("derivatives")}


def file_of(digest: str) -> StoredFile | None:
    """Return what is known of the bytes behind a hash."""
    return files_of([digest]).get(digest)


def files_due(*, checked_before: datetime, limit: int) -> list[StoredFile]:
    """Return the files not read back since then, the longest first."""
    rows = StoredFile.objects.filter(checked_at__lt=checked_before)
    rows = rows.exclude(damage=Damage.ERASED)
    return list(rows.order_by("checked_at", "pk")[:limit])


def damaged_files() -> QuerySet[StoredFile]:
    """Return the files that are gone or changed in the store."""
    return StoredFile.objects.exclude(damage__in=[Damage.NONE, Damage.ERASED]).order_by(
        "pk"
    )


def seen_elsewhere(exhibit: Exhibit) -> list[SeenElsewhere]:
    """Return exhibits of another roof or claim with the same or a like picture."""
    distances = {exhibit.sha256: 0} | dict(_alike(file_of(exhibit.sha256)))
    others = (
        Exhibit.objects.filter(sha256__in=distances)
        .exclude(roof_id=exhibit.roof_id, claim=exhibit.claim)
        .exclude(pk=exhibit.pk)
        .select_related("roof__coach")
    )
    found = [
        SeenElsewhere(
            exhibit=other,
            distance=distances[other.sha256],
            is_same_file=other.sha256 == exhibit.sha256,
        )
        for other in others
    ]
    return sorted(found, key=lambda seen: (seen.distance, seen.exhibit.pk))


def _alike(file: StoredFile | None) -> Iterator[tuple[str, int]]:
    if file is None or file.likeness is None:
        return
    own = file.likeness % SIGNED_BITS
    near = Q()
    for position, bits in enumerate(bands_of(own)):
        near |= Q(position=position, bits__in=list(near_bands(bits)))
    candidates = LikenessBand.objects.filter(near).exclude(file=file)
    rows = candidates.values_list("file__sha256", "file__likeness").distinct()
    for digest, likeness in rows:
        apart = distance(own, likeness % SIGNED_BITS)
        if apart <= ALIKE_DISTANCE:
            yield digest, apart


def tray_photos() -> QuerySet[TrayPhoto]:
    """Return the photos that wait or waited for the office, for those who see all."""
    return TrayPhoto.objects.select_related("file", "place", "exhibit")


def visit_days(days: Sequence[date], *, technician: str = "") -> list[VisitDay]:
    """Return the visits of these days that count, with the places of their pictures."""
    visits = Visit.objects.filter(happened_on__in=days)
    if technician:
        visits = visits.filter(technician__name__iexact=technician)
    rows = list(visits.order_by("pk"))
    roofs = {visit.roof_id for visit in rows}
    by_roof: dict[int, list[Visit]] = defaultdict(list)
    for visit in Visit.objects.filter(roof_id__in=roofs).order_by("pk"):
        by_roof[visit.roof_id].append(visit)
    counted = {
        visit.pk for known in by_roof.values() for visit in rows_that_stand(known).rows
    }
    places: dict[int, list[Place]] = defaultdict(list)
    placed = Exhibit.objects.filter(visit__in=counted, place__isnull=False)
    for exhibit in placed.select_related("place"):
        place = parsed_place(exhibit.place.body if exhibit.place else "")
        if place is not None and exhibit.visit_id is not None:
            places[exhibit.visit_id].append(place)
    return [
        VisitDay(
            visit=visit.pk,
            happened_on=visit.happened_on,
            places=tuple(places[visit.pk]),
        )
        for visit in rows
        if visit.pk in counted
    ]


def undeveloped() -> QuerySet[StoredFile]:
    """Return the pictures whose copies are still to be made."""
    return StoredFile.objects.filter(look=Look.PENDING).order_by("pk")
