"""Who holds coaches."""

from __future__ import annotations

import uuid

from django.db import models


class OwnerKind(models.TextChoices):
    PRIVATE = "private", "private person"
    RENTAL_FLEET = "rental_fleet", "rental fleet"


class Owner(models.Model):
    """A private person or a rental fleet. A row is never deleted, but can be merged
    into another owner's, or have its personal fields erased."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=16, choices=OwnerKind)
    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=32, blank=True)
    merged_into = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="merged_owners"
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="owner_kind_known", condition=models.Q(kind__in=OwnerKind.values)
            ),
            models.CheckConstraint(
                name="owner_not_merged_into_itself",
                condition=models.Q(merged_into__isnull=True)
                | ~models.Q(merged_into=models.F("id")),
            ),
            models.CheckConstraint(
                name="owner_name_given", condition=~models.Q(name="")
            ),
        ]
        indexes = [models.Index(name="owner_by_name", fields=["name", "id"])]

    def __str__(self) -> str:
        return self.name
