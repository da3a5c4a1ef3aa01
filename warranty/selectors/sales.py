"""A sale before it is recorded: what it would do to each coach's promise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from fleet.models import Coach, Owner, Roof
from fleet.scope import Scope
from fleet.selectors.scopes import coaches_visible_to, owners_visible_to
from warranty.models import Edition
from warranty.selectors.terms import editions_promised


@dataclass(frozen=True, slots=True, kw_only=True)
class SalePreview:
    """What a sale would do to one roof's promise; nothing without one."""

    coach: Coach
    edition: Edition | None
    passes_on: bool
    fits_holder: bool  # the edition is made to this kind of holder
    deadline_on: date | None
    is_late: bool
    needs_inspection: bool


def sale_previews(
    coaches: Sequence[Coach], *, sold_on: date, told_on: date, kind: str
) -> tuple[SalePreview, ...]:
    """Return what a sale would do, a row a promised roof, in the coaches' order."""
    roofs = Roof.objects.filter(coach__in=coaches).order_by("pk")
    by_coach: dict[int, list[int]] = {}
    for pk, coach_id in roofs.values_list("pk", "coach_id"):
        by_coach.setdefault(coach_id, []).append(pk)
    promised = editions_promised([pk for pks in by_coach.values() for pk in pks])
    found = []
    for coach in coaches:
        editions = [promised[pk] for pk in by_coach.get(coach.pk, ()) if pk in promised]
        for edition in editions or [None]:
            found.append(
                _preview(coach, edition, sold_on=sold_on, told_on=told_on, kind=kind)
            )
    return tuple(found)


def _preview(
    coach: Coach, edition: Edition | None, *, sold_on: date, told_on: date, kind: str
) -> SalePreview:
    days = edition.transfer_notice_days if edition else None
    deadline_on = None if days is None else sold_on + timedelta(days=days)
    return SalePreview(
        coach=coach,
        edition=edition,
        passes_on=edition is not None and edition.is_transferable,
        fits_holder=edition is not None and edition.owner_kind == kind,
        deadline_on=deadline_on,
        is_late=deadline_on is not None and told_on > deadline_on,
        needs_inspection=edition is not None and edition.transfer_needs_inspection,
    )


def owners_named(name: str, scope: Scope) -> QuerySet[Owner]:
    """Return the owners on record under exactly this name, whatever its case."""
    return owners_visible_to(scope).filter(name__iexact=name.strip()).order_by("pk")


def coaches_for_sale(held_by: Owner, scope: Scope) -> QuerySet[Coach]:
    """Return an owner's coaches by number."""
    coaches = coaches_visible_to(scope).select_related("holder")
    return coaches.filter(holder=held_by).order_by("unit_no", "pk")
