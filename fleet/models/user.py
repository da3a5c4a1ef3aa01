"""Who signs in."""

from __future__ import annotations

import uuid

from django.contrib.auth.models import AbstractUser
from django.db import models


class Role(models.TextChoices):
    OFFICE = "OFFICE", "service office"
    TECHNICIAN = "TECHNICIAN", "technician"
    FLEET_MANAGER = "FLEET_MANAGER", "fleet manager"


class User(AbstractUser):
    """A person, or the register itself, who records things. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    role = models.CharField(max_length=16, choices=Role, default=Role.TECHNICIAN)
    owner = models.ForeignKey(
        "fleet.Owner",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="managers",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="user_role_known", condition=models.Q(role__in=Role.values)
            ),
            # A fleet manager belongs to one owner; nobody else does.
            models.CheckConstraint(
                name="user_owner_goes_with_fleet_manager",
                condition=(models.Q(role=Role.FLEET_MANAGER, owner__isnull=False))
                | (~models.Q(role=Role.FLEET_MANAGER) & models.Q(owner__isnull=True)),
            ),
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username
