"""People and places beside the owner by whom a coach is reached."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q


class ContactRole(models.TextChoices):
    SPOUSE = "SPOUSE", "spouse or partner"
    DRIVER = "DRIVER", "driver"
    CAMPGROUND = "CAMPGROUND", "campground or storage lot"
    YARD = "YARD", "fleet's yard"
    OTHER = "OTHER", "other"


class Contact(models.Model):
    """Somebody to reach about an owner's coaches, or about one of them.

    Private, and no fact about a roof: it can be changed, removed, and goes when its
    owner is erased. It stays with the owner when a coach is sold.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey("fleet.Owner", models.PROTECT, related_name="contacts")
    # None: for all of the owner's coaches.
    coach = models.ForeignKey(
        "fleet.Coach",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="contacts",
    )
    role = models.CharField(max_length=12, choices=ContactRole)
    name = models.CharField(max_length=200)
    phone = models.CharField(max_length=32, blank=True)
    email = models.EmailField(blank=True)
    note = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="contact_role_known", condition=Q(role__in=ContactRole.values)
            ),
            models.CheckConstraint(name="contact_name_given", condition=~Q(name="")),
        ]
        indexes = [models.Index(name="contact_by_owner", fields=["owner", "id"])]

    def __str__(self) -> str:
        return self.name
