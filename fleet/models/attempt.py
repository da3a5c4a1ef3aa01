"""How often somebody knocked at a public door lately."""

from __future__ import annotations

from django.db import models


class Attempt(models.Model):
    """A count of one address's tries in one stretch of time; pruned as it ages.

    The address is kept as a keyed hash only."""

    who_sha256 = models.CharField(max_length=64)
    window_at = models.DateTimeField()
    count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="attempt_one_count_a_window", fields=["who_sha256", "window_at"]
            )
        ]
