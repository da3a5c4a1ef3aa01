"""Which lots were laid on which roofs, and how those roofs fare."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Exists, Max, Min, OuterRef, Q, QuerySet
from django.db.models.functions import Substr

from fleet.models import CoatLog, Roof
from fleet.scope import Scope
from fleet.selectors.scopes import roofs_visible_to, within
from warranty.rules.clause import CLAUSE_CODE, Clause
from warranty.selectors.claims import claims_visible_to

PAGE_LOTS = 50
_FILM_PLACE = CLAUSE_CODE[Clause.FILM] + 1  # a database counts from one


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """One lot of one coat, and the roofs that carry it."""

    lot: str
    coat: str
    roofs: int
    first_on: date
    last_on: date
    refused: int  # roofs whose film was not accepted
    claims: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidRoof:
    """One roof that carries a lot."""

    roof: Roof
    coats: tuple[str, ...]
    laid_on: date
    claims: int


def lots_visible_to(scope: Scope, *, words: str = "") -> QuerySet[CoatLog]:
    """Return the lots that lie on roofs a caller may see, the last laid first.

    Each row is a lot of one coat with its counts, as a dictionary.
    """
    counted = laid_visible_to(scope).filter(lot__icontains=words.strip())
    return (
        counted.values("lot", "coat")
        .annotate(
            roofs=Count("roof", distinct=True),
            first_on=Min("happened_on"),
            last_on=Max("happened_on"),
            refused=Count("roof", distinct=True, filter=Q(letter="N")),
        )
        .order_by("-last_on", "lot", "coat")
    )


def laid_visible_to(scope: Scope) -> QuerySet[CoatLog]:
    """Return the coats that count, of lots that were written down."""
    later = CoatLog.objects.filter(roof=OuterRef("roof"), supersedes=OuterRef("uuid"))
    rows = CoatLog.objects.exclude(lot="").filter(
        ~Exists(later), is_void=False, roof__coach__merged_into__isnull=True
    )
    rows = rows.alias(letter=Substr("roof__standing__verdicts", _FILM_PLACE, 1))
    return within(rows, scope, owner_path="roof__coach__holder_id")


def rows_of_lots(found: Iterable[dict[str, object]], scope: Scope) -> list[LotRow]:
    """Return a page's lots with the claims on the roofs that carry them."""
    rows = list(found)
    names = {str(row["lot"]) for row in rows}
    claims = _claims_by_lot(names, scope)
    return [
        LotRow(**row, claims=claims.get((row["lot"], row["coat"]), 0))  # type: ignore[arg-type]  # the columns above
        for row in rows
    ]


def _claims_by_lot(names: set[str], scope: Scope) -> dict[tuple[object, object], int]:
    laid = laid_visible_to(scope).filter(lot__in=names)
    # After a sale the claims stay with who held the coach then.
    mine = Q(roof__claims__in=claims_visible_to(scope).values("pk"))
    counted = laid.values("lot", "coat").annotate(
        claims=Count("roof__claims", distinct=True, filter=mine)
    )
    return {(row["lot"], row["coat"]): row["claims"] for row in counted}


def roofs_of_lot(lot: str, scope: Scope) -> QuerySet[Roof]:
    """Return the roofs that carry a lot, by coach number, with their standing."""
    laid = laid_visible_to(scope).filter(lot=lot, roof=OuterRef("pk"))
    roofs = roofs_visible_to(scope).filter(Exists(laid))
    return roofs.select_related("standing").order_by("coach__unit_no", "roof_no")


def laid_of(roofs: Iterable[Roof], lot: str, scope: Scope) -> list[LaidRoof]:
    """Return a page's roofs with what of the lot lies on each, and its claims."""
    shown = list(roofs)
    ids = [roof.pk for roof in shown]
    coats: dict[int, list[CoatLog]] = {}
    rows = laid_visible_to(scope).filter(lot=lot, roof_id__in=ids)
    for row in rows.order_by("happened_on", "pk"):
        coats.setdefault(row.roof_id, []).append(row)
    claims = claims_visible_to(scope).filter(roof_id__in=ids).order_by()
    counted = dict(claims.values_list("roof_id").annotate(count=Count("pk")))
    return [
        LaidRoof(
            roof=roof,
            coats=tuple(dict.fromkeys(row.coat for row in coats[roof.pk])),
            laid_on=coats[roof.pk][0].happened_on,
            claims=counted.get(roof.pk, 0),
        )
        for roof in shown
    ]
