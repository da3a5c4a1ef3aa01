"""Who is at work on the later work."""

from __future__ import annotations

from django.db import models


class RunnerBeat(models.Model):
    """When one runner or worker was last seen. Rows not seen for a day are deleted."""

    name = models.CharField(max_length=120, unique=True)
    seen_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="runner_beat_name_given", condition=~models.Q(name="")
            )
        ]
        indexes = [models.Index(name="runner_beat_newest", fields=["-seen_at"])]
