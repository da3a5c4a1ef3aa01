"""A piece of later work, as a row before it is a message."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class RunState(models.TextChoices):
    NEW = "NEW", "waiting"
    RUNNING = "RUNNING", "running"
    DONE = "DONE", "done"
    DEAD = "DEAD", "set aside"


class Lane(models.TextChoices):
    """Which queue a run waits in, so that long work holds up nothing short."""

    DEFAULT = "DEFAULT", "short work"
    NOTICES = "NOTICES", "notices"
    WEBHOOKS = "WEBHOOKS", "webhooks"
    HEAVY = "HEAVY", "long work"


UNFINISHED = (RunState.NEW, RunState.RUNNING)
FINISHED = (RunState.DONE, RunState.DEAD)


class Run(models.Model):
    """One piece of later work that a person can watch. A row that is done goes after
    its retention; one that was set aside stays until somebody has looked.

    The row is the truth: Celery carries only its id. ``lease_token`` grows with every
    claim, and whoever holds an older one can no longer write.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=48)
    # Ids and choices only: texts and measured values stay in their own rows.
    payload = models.JSONField(default=dict)
    dedupe_key = models.CharField(max_length=120, null=True, blank=True, unique=True)
    lane = models.CharField(max_length=8, choices=Lane, default=Lane.DEFAULT)
    state = models.CharField(max_length=8, choices=RunState, default=RunState.NEW)
    available_at = models.DateTimeField()
    lease_token = models.PositiveBigIntegerField(default=0)
    lease_until = models.DateTimeField(null=True, blank=True)
    starts = models.PositiveSmallIntegerField(default=0)
    progress_done = models.PositiveIntegerField(default=0)
    progress_total = models.PositiveIntegerField(null=True, blank=True)
    progress_note = models.CharField(max_length=200, blank=True)
    result = models.JSONField(default=dict, blank=True)
    last_error = models.TextField(blank=True)
    # Empty: the register itself asked, by its schedule.
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="runs",
    )
    owner = models.ForeignKey(
        "fleet.Owner", models.PROTECT, null=True, blank=True, related_name="runs"
    )
    created_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="run_kind_given", condition=~Q(kind="")),
            models.CheckConstraint(
                name="run_state_known", condition=Q(state__in=RunState.values)
            ),
            models.CheckConstraint(
                name="run_lane_known", condition=Q(lane__in=Lane.values)
            ),
            models.CheckConstraint(
                name="run_lease_while_running",
                condition=Q(state=RunState.RUNNING, lease_until__isnull=False)
                | (~Q(state=RunState.RUNNING) & Q(lease_until__isnull=True)),
            ),
            models.CheckConstraint(
                name="run_finished_when_done_or_dead",
                condition=Q(state__in=FINISHED, finished_at__isnull=False)
                | (~Q(state__in=FINISHED) & Q(finished_at__isnull=True)),
            ),
            models.CheckConstraint(
                name="run_dead_has_reason",
                condition=~Q(state=RunState.DEAD) | ~Q(last_error=""),
            ),
            models.CheckConstraint(
                name="run_progress_within_total",
                condition=Q(progress_total__isnull=True)
                | Q(progress_done__lte=F("progress_total")),
            ),
        ]
        indexes = [
            models.Index(
                name="run_claimable",
                fields=["lane", "available_at", "id"],
                condition=Q(state__in=UNFINISHED),
            ),
            models.Index(name="run_newest_of_owner", fields=["owner", "-id"]),
            # What is counted on every look; done rows outnumber the rest by far.
            models.Index(
                name="run_not_done",
                fields=["lane", "state"],
                condition=~Q(state=RunState.DONE),
            ),
            models.Index(
                name="run_done_by_end",
                fields=["finished_at"],
                condition=Q(state=RunState.DONE),
            ),
        ]
