"""End sessions: one by its owner or the office, and those that have run out."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from fleet.actions.access_log import note_access
from fleet.models import AccessKind, Session, User


def end_session(*, session: Session, by: User, address: str, now: datetime) -> None:
    """End a session: its browser is signed out with the next click."""
    with transaction.atomic():
        removed, _ = Session.objects.filter(pk=session.pk).delete()
        if removed:
            note_access(
                AccessKind.SESSION_ENDED,
                now=now,
                by=by,
                owner_id=session.user.owner_id if session.user else None,
                address=address,
                about=session.uuid,
                detail=str(session.user or ""),
            )


def forget_old_sessions(*, user: User, now: datetime) -> None:
    """Remove a person's sessions that have run out, and those nobody signed in with."""
    Session.objects.filter(user=user, expire_date__lte=now).delete()
    Session.objects.filter(user__isnull=True, expire_date__lte=now).delete()
