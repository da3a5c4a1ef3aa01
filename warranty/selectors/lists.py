"""Lists of promises for people and programs: narrowed to the caller, joined once."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from fleet.models import Roof
from fleet.scope import Scope
from fleet.selectors.scopes import within
from warranty.models import ClaimReport, Coverage, Edition, Standing
from warranty.rules.clause import Standing as StandingWord


def editions() -> QuerySet[Edition]:
    """Return the published editions: what is promised is no secret."""
    return Edition.objects.filter(published_at__isnull=False)


def coverages_visible_to(scope: Scope) -> QuerySet[Coverage]:
    """Return the coverages of the roofs a caller may see."""
    rows = Coverage.objects.select_related("roof", "roof__coach", "edition")
    return within(rows, scope, owner_path="roof__coach__holder_id")


def reports_of(claim_ids: list[int]) -> QuerySet[ClaimReport]:
    """Return all reports of these claims, oldest first."""
    rows = ClaimReport.objects.select_related("description", "recorded_by")
    return rows.filter(claim_id__in=claim_ids).order_by("claim_id", "recorded_at", "pk")


def roofs_with_standing(scope: Scope) -> QuerySet[Roof]:
    """Return the roofs a caller may see, to be read by columns with their standing."""
    return within(Roof.objects.all(), scope, owner_path="coach__holder_id")


def inspections_due(scope: Scope) -> QuerySet[Standing]:
    """Return the standings that have a next inspection, ended ones left out."""
    rows = (
        Standing.objects.select_related(
            "roof", "roof__coach", "roof__coach__holder", "roof__coverage__edition"
        )
        .exclude(word=StandingWord.ENDED.value)
        .filter(next_due_on__isnull=False, roof__coach__merged_into__isnull=True)
    )
    return within(rows, scope, owner_path="roof__coach__holder_id")


def in_place(standings: QuerySet[Standing], place: str) -> QuerySet[Standing]:
    """Return the standings of coaches whose town has this in it, or of this state."""
    if not place:
        return standings
    return standings.filter(
        Q(roof__coach__town__icontains=place) | Q(roof__coach__state__iexact=place)
    )
