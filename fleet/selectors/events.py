"""The feed of changes, as each caller may follow it."""

from __future__ import annotations

from django.db.models import F, QuerySet

from fleet.models import Event
from fleet.scope import Scope, Sight
from fleet.selectors.scopes import within


def events_after(scope: Scope, after: int) -> QuerySet[Event]:
    """Return the events of the caller's own stream behind a position, in its order.

    ``at`` is the position in that stream: the owner's own, or for who sees everything
    the office's, which counts the events of all owners.
    """
    rows = Event.objects.select_related("coach", "roof", "owner")
    if scope.sight is Sight.EVERYTHING:
        rows = rows.filter(office_position__gt=after)
        return rows.annotate(at=F("office_position")).order_by("office_position")
    # What is told to an owner merged into another stands in that one's stream.
    own = within(
        rows.filter(owner__merged_into__isnull=True), scope, owner_path="owner_id"
    )
    own = own.filter(position__gt=after)
    return own.annotate(at=F("position")).order_by("position")
