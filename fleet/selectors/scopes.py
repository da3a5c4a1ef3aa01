"""Who may see which rows: the one place that decides."""

from __future__ import annotations

from typing import TypeVar
from uuid import UUID

from django.contrib.auth.models import AnonymousUser
from django.db.models import Model, Q, QuerySet

from fleet.models import Coach, Owner, Role, Roof, User
from fleet.scope import NOTHING, Scope, Sight

AnyModel = TypeVar("AnyModel", bound=Model)


def scope_of(user: User | AnonymousUser) -> Scope:
    """Return what a signed-in person may see and do; nobody sees nothing."""
    if not isinstance(user, User) or not user.is_active:
        return NOTHING
    if user.role == Role.OFFICE:
        return Scope(
            sight=Sight.EVERYTHING, may_write_records=True, may_run_office=True
        )
    if user.role == Role.TECHNICIAN:
        return Scope(sight=Sight.EVERYTHING, may_write_records=True)
    return Scope(
        sight=Sight.OWN_COACHES,
        owner_ids=_owner_and_merged(user.owner),
        record_scope=f"owner:{user.owner.uuid}" if user.owner else "",
    )


def _owner_and_merged(owner: Owner | None) -> tuple[int, ...]:
    if owner is None:
        return ()
    kept = owner.merged_into_id or owner.pk
    same = Owner.objects.filter(Q(pk=kept) | Q(merged_into_id=kept))
    return tuple(same.values_list("pk", flat=True))


def within(
    rows: QuerySet[AnyModel], scope: Scope, *, owner_path: str
) -> QuerySet[AnyModel]:
    """Narrow a query to the caller's scope along the path that leads to an owner."""
    if scope.sight is Sight.EVERYTHING:
        return rows
    if scope.sight is Sight.OWN_COACHES:
        return rows.filter(**{f"{owner_path}__in": scope.owner_ids})
    return rows.none()


def coaches_visible_to(scope: Scope) -> QuerySet[Coach]:
    """Return the coaches a caller may see; merged duplicates are not listed."""
    coaches = Coach.objects.filter(merged_into__isnull=True)
    return within(coaches, scope, owner_path="holder_id")


def roofs_visible_to(scope: Scope) -> QuerySet[Roof]:
    """Return the roofs a caller may see, with their coach and system."""
    roofs = Roof.objects.select_related("coach", "coach__holder", "system")
    return within(roofs, scope, owner_path="coach__holder_id")


def roof_by_id(roof_id: int) -> Roof:
    """Return a roof that a run's payload names."""
    return Roof.objects.select_related("coach", "coach__holder").get(pk=roof_id)


def owners_visible_to(scope: Scope) -> QuerySet[Owner]:
    """Return the owners a caller may see: all, or the caller's own."""
    owners = Owner.objects.filter(merged_into__isnull=True)
    return within(owners, scope, owner_path="pk")


def owner_by_id(owner_id: int) -> Owner:
    """Return an owner that a run's payload names."""
    return Owner.objects.get(pk=owner_id)


def owner_by_uuid(text: str) -> Owner | None:
    """Return the owner of this uuid, for the register's own commands."""
    try:
        return Owner.objects.filter(uuid=UUID(text)).first()
    except ValueError:
        return None
