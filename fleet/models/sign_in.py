"""Sessions, tries to sign in, second factors and invitations."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.contrib.sessions.base_session import AbstractBaseSession, BaseSessionManager
from django.db import models
from django.db.models import F, Q

from fleet.models.user import Role


class Session(AbstractBaseSession):
    """One browser that has been given a cookie. Deleted when it ends."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.CASCADE,
        null=True,
        blank=True,
        related_name="sessions",
    )
    began_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)
    address = models.CharField(max_length=45, blank=True)
    program = models.CharField(max_length=200, blank=True)

    objects = BaseSessionManager()

    class Meta:
        indexes = [models.Index(name="session_of_user", fields=["user", "-began_at"])]


class TriedBy(models.TextChoices):
    ACCOUNT = "ACCOUNT", "the name that was typed"
    NETWORK = "NETWORK", "the network it came from"


class SignInTry(models.Model):
    """How often one name, or one network, was tried within a span. Counted before a
    password is looked at; the name is kept keyed, whether it exists or not."""

    tried_by = models.CharField(max_length=8, choices=TriedBy)
    subject = models.CharField(max_length=64)
    began_at = models.DateTimeField()
    tries = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="sign_in_try_kind_known", condition=Q(tried_by__in=TriedBy.values)
            ),
            models.UniqueConstraint(
                name="sign_in_try_once_per_subject", fields=["tried_by", "subject"]
            ),
        ]


class SecondFactor(models.Model):
    """The secret that a person's phone makes codes from. Deleted when removed."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="second_factor"
    )
    # Sealed with a key of the secret key: codes are made from it, so no hash would do.
    sealed_secret = models.CharField(max_length=200)
    made_at = models.DateTimeField()
    # Empty until a first code showed that the phone has the secret.
    confirmed_at = models.DateTimeField(null=True, blank=True)
    # The last time step whose code was taken: no code is taken twice.
    last_step = models.BigIntegerField(default=0)


class RecoveryCode(models.Model):
    """One code for a lost phone, kept keyed, good once."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="recovery_codes"
    )
    code_hmac = models.CharField(max_length=64)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="recovery_code_once_per_user", fields=["user", "code_hmac"]
            )
        ]


class Invitation(models.Model):
    """One person asked to become a user, by a link that works once. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=150)
    email = models.EmailField()
    role = models.CharField(max_length=16, choices=Role)
    owner = models.ForeignKey(
        "fleet.Owner",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="invitations",
    )
    invited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="invitations_made"
    )
    invited_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="invitation",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="invitation_role_known", condition=Q(role__in=Role.values)
            ),
            models.CheckConstraint(
                name="invitation_owner_goes_with_fleet_manager",
                condition=Q(role=Role.FLEET_MANAGER, owner__isnull=False)
                | (~Q(role=Role.FLEET_MANAGER) & Q(owner__isnull=True)),
            ),
            models.CheckConstraint(
                name="invitation_expires_after_made",
                condition=Q(expires_at__gt=F("invited_at")),
            ),
            models.CheckConstraint(
                name="invitation_accepted_makes_a_user",
                condition=Q(accepted_at__isnull=True, user__isnull=True)
                | Q(accepted_at__isnull=False, user__isnull=False),
            ),
            models.CheckConstraint(
                name="invitation_withdrawn_or_accepted",
                condition=Q(withdrawn_at__isnull=True) | Q(accepted_at__isnull=True),
            ),
        ]
