"""How often each caller has asked in the present minute."""

from __future__ import annotations

from django.db import models


class RateWindow(models.Model):
    """One caller's count in one window, overwritten by the next. On PostgreSQL the
    table is unlogged: after a crash everybody starts at nought."""

    principal = models.CharField(max_length=80, primary_key=True)
    window = models.BigIntegerField()
    count = models.PositiveIntegerField()
