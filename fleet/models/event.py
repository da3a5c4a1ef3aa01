"""What changed, numbered so that a mirror of the records never misses a change."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from fleet.models.coach import Coach
from fleet.models.owner import Owner
from fleet.models.roof import Roof


class EventKind(models.TextChoices):
    COACH = "COACH", "a coach, or who holds it"
    ROOF = "ROOF", "a roof, its plan, findings or promise"
    VISIT = "VISIT", "a visit"
    READINGS = "READINGS", "readings, or the log of a coat"
    STANDING = "STANDING", "what the promise is worth, or until when"
    CLAIM = "CLAIM", "a claim was reported or moved"
    DOCUMENT = "DOCUMENT", "a document is ready"


class EventStream(models.Model):
    """The last position given in one stream: an owner's, or the office's own (0).

    Locked from the giving of a position to the end of its transaction: positions are
    in commit order, and a later one is never seen before an earlier one.
    """

    OFFICE = 0

    stream = models.PositiveBigIntegerField(primary_key=True)
    position = models.PositiveBigIntegerField(default=0)


class Event(models.Model):
    """One change, written in the transaction that makes it: it names what changed and
    holds nothing of it. Never deleted; the office numbers it after the commit."""

    # Null: told to the office alone.
    owner = models.ForeignKey(
        Owner, models.PROTECT, null=True, blank=True, related_name="events"
    )
    position = models.PositiveBigIntegerField(null=True, blank=True)
    office_position = models.PositiveBigIntegerField(null=True, blank=True, unique=True)
    kind = models.CharField(max_length=8, choices=EventKind)
    subject = models.UUIDField()
    detail = models.CharField(max_length=40, blank=True)
    coach = models.ForeignKey(Coach, models.PROTECT, related_name="events")
    roof = models.ForeignKey(
        Roof, models.PROTECT, null=True, blank=True, related_name="events"
    )
    # The first entry of the roof's ledger that tells of it.
    entry_seq = models.PositiveIntegerField(null=True, blank=True)
    recorded_at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(
                name="event_without_office_number",
                fields=["id"],
                condition=Q(office_position__isnull=True),
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                name="event_position_once_per_owner", fields=["owner", "position"]
            ),
            models.CheckConstraint(
                name="event_position_goes_with_owner",
                condition=Q(owner__isnull=True, position__isnull=True)
                | Q(owner__isnull=False, position__isnull=False, position__gte=1),
            ),
            models.CheckConstraint(
                name="event_kind_known", condition=Q(kind__in=EventKind.values)
            ),
        ]
