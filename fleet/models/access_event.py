"""What happened at the door: who signed in, who did not, which keys were used."""

from __future__ import annotations

import uuid

from django.db import models


class AccessKind(models.TextChoices):
    SIGNED_IN = "SIGNED_IN", "signed in"
    SIGN_IN_FAILED = "SIGN_IN_FAILED", "sign-in refused"
    SIGN_IN_HELD = "SIGN_IN_HELD", "sign-in held back: too many tries"
    SIGNED_OUT = "SIGNED_OUT", "signed out"
    CODE_FAILED = "CODE_FAILED", "wrong second-factor code"
    FACTOR_SET = "FACTOR_SET", "second factor set up"
    FACTOR_REMOVED = "FACTOR_REMOVED", "second factor removed"
    RECOVERY_USED = "RECOVERY_USED", "recovery code used"
    RECOVERY_MADE = "RECOVERY_MADE", "new recovery codes made"
    SESSION_ENDED = "SESSION_ENDED", "session ended"
    KEY_MADE = "KEY_MADE", "key made"
    KEY_USED = "KEY_USED", "key used"
    KEY_REFUSED = "KEY_REFUSED", "key refused"
    KEY_ROTATED = "KEY_ROTATED", "key's secret changed"
    KEY_REVOKED = "KEY_REVOKED", "key revoked"
    INVITED = "INVITED", "invited"
    INVITATION_TAKEN = "INVITATION_TAKEN", "invitation accepted"
    INVITATION_WITHDRAWN = "INVITATION_WITHDRAWN", "invitation withdrawn"
    USER_CLOSED = "USER_CLOSED", "user deactivated"
    USER_OPENED = "USER_OPENED", "user activated again"


class AccessEvent(models.Model):
    """One event at the door. Append-only, and without foreign keys: it stays as it was
    written whatever becomes of the rows it tells of. The program never removes one."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    at = models.DateTimeField()
    kind = models.CharField(max_length=24, choices=AccessKind)
    # Who did it, as far as it is known; a name that was only typed is in ``detail``.
    user_uuid = models.UUIDField(null=True, blank=True)
    user_name = models.CharField(max_length=150, blank=True)
    # The owner's number, for whom the event can be seen; empty: the office's alone.
    owner_number = models.BigIntegerField(null=True, blank=True)
    address = models.CharField(max_length=45, blank=True)
    # What it was about: a key, a session, an invitation, another user.
    about_uuid = models.UUIDField(null=True, blank=True)
    detail = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="access_event_kind_known",
                condition=models.Q(kind__in=AccessKind.values),
            )
        ]
        indexes = [
            models.Index(name="access_event_of_owner", fields=["owner_number", "-id"])
        ]
