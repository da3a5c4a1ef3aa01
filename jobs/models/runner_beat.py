"""Who is at work on the later work."""

from __future__ import annotations

from django.db import models

from jobs.models.run import Lane


class RunnerBeat(models.Model):
    """When one runner or worker was last seen at one lane. Rows not seen for a day
    are deleted."""

    name = models.CharField(max_length=120)
    lane = models.CharField(max_length=8, choices=Lane, default=Lane.DEFAULT)
    seen_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="runner_beat_name_given", condition=~models.Q(name="")
            ),
            models.CheckConstraint(
                name="runner_beat_lane_known",
                condition=models.Q(lane__in=Lane.values),
            ),
            models.UniqueConstraint(
                name="runner_beat_once_a_lane", fields=["name", "lane"]
            ),
        ]
        indexes = [models.Index(name="runner_beat_newest", fields=["-seen_at"])]
