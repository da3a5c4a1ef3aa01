"""Answers kept for a while, so that the same request again has no second effect."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class KeptAnswer(models.Model):
    """What one caller was answered under one Idempotency-Key. Written in the
    transaction of the request's effect, removed when no client repeats it any more."""

    # A person or a program: an account can be removed, its answers then just expire.
    principal = models.CharField(max_length=80)
    key_sha256 = models.CharField(max_length=64)
    # Of method, address and body: the same key with another request is refused.
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    headers = models.JSONField(default=dict)
    # Null: erased, because the answer may have told of an erased person.
    body = models.BinaryField(null=True)
    answered_at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(name="kept_answer_by_age", fields=["answered_at"]),
        ]
        constraints = [
            models.UniqueConstraint(
                name="kept_answer_once_per_key", fields=["principal", "key_sha256"]
            ),
            models.CheckConstraint(
                name="kept_answer_of_an_effect",
                condition=Q(status__gte=200, status__lt=300),
            ),
        ]
