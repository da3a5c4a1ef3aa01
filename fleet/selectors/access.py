"""Who may see users, sessions, keys, invitations and what happened at the door."""

from __future__ import annotations

from datetime import datetime

from django.db.models import QuerySet

from fleet.models import (
    AccessEvent,
    ApiKey,
    ApiKeySecret,
    Invitation,
    RecoveryCode,
    SecondFactor,
    Session,
    User,
)
from fleet.scope import Scope, Sight
from fleet.selectors.scopes import within


def users_visible_to(scope: Scope) -> QuerySet[User]:
    """Return the people a caller looks after: all, those of the own fleet, or
    only themselves.

    Keys have a user row each, and the register one: they are no people.
    """
    people = User.objects.filter(api_key__isnull=True).exclude(username="register")
    people = people.select_related("owner", "second_factor")
    if not scope.may_look_after:
        return people.filter(pk=scope.user_id)
    return within(people, scope, owner_path="owner_id")


def sessions_visible_to(scope: Scope) -> QuerySet[Session]:
    """Return the sessions a caller may end: their own, for the office everybody's."""
    sessions = Session.objects.filter(user__isnull=False).select_related("user")
    if scope.may_run_office:
        return sessions
    return sessions.filter(user_id=scope.user_id)


def live_sessions(sessions: QuerySet[Session], *, now: datetime) -> QuerySet[Session]:
    """Return those that have not run out."""
    return sessions.filter(expire_date__gt=now)


def keys_visible_to(scope: Scope) -> QuerySet[ApiKey]:
    """Return the keys a caller looks after: technicians look after none."""
    keys = ApiKey.objects.select_related("owner", "made_by").prefetch_related("secrets")
    if not scope.may_look_after:
        return keys.none()
    return within(keys, scope, owner_path="owner_id")


def invitations_visible_to(scope: Scope) -> QuerySet[Invitation]:
    """Return the invitations a caller looks after."""
    made = Invitation.objects.select_related("owner", "invited_by")
    if not scope.may_look_after:
        return made.none()
    return within(made, scope, owner_path="owner_id")


def open_invitations(
    invitations: QuerySet[Invitation], *, now: datetime
) -> QuerySet[Invitation]:
    """Return those whose link still works."""
    return invitations.filter(
        accepted_at__isnull=True, withdrawn_at__isnull=True, expires_at__gt=now
    )


def access_events_visible_to(scope: Scope) -> QuerySet[AccessEvent]:
    """Return what happened at the door: all, that of the own fleet, or one's own."""
    events = AccessEvent.objects.all()
    if scope.may_run_office:
        return events
    if scope.sight is Sight.OWN_COACHES:
        return events.filter(owner_number__in=scope.owner_ids)
    return (
        events.filter(user_uuid=scope.user_uuid) if scope.user_uuid else events.none()
    )


def live_secrets(key: ApiKey, *, now: datetime) -> list[ApiKeySecret]:
    """Return the secrets by which a key can be used, in the order they were made."""
    return sorted(
        (s for s in key.secrets.all() if s.ended_at is None and s.expires_at > now),
        key=lambda secret: secret.made_at,
    )


def factor_of(user: User) -> SecondFactor | None:
    """Return a person's second factor, confirmed or just begun."""
    return SecondFactor.objects.filter(user=user).first()


def person_by_id(user_id: int) -> User | None:
    """Return somebody who has just given the right password and may still sign in."""
    return User.objects.filter(pk=user_id, is_active=True).first()


def unused_recovery_codes(user: User) -> int:
    """Return how many recovery codes a person has left."""
    return RecoveryCode.objects.filter(user=user, used_at__isnull=True).count()
