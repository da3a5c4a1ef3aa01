"""Free text that can be erased while the ledger still verifies."""

from __future__ import annotations

import secrets
import uuid

from django.db import models

from fleet.ledger.canonical import salted_sha256


def new_salt() -> str:
    """Return 16 random bytes in hexadecimal."""
    return secrets.token_hex(16)


class PrivateText(models.Model):
    """One free text with its salt; erasing empties both and keeps the row."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    salt = models.CharField(max_length=32, default=new_salt)
    body = models.TextField()
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="private_text_erased_is_empty",
                condition=models.Q(erased_at__isnull=True) | models.Q(body="", salt=""),
            )
        ]

    def __str__(self) -> str:
        return self.body if self.erased_at is None else "(erased)"

    @property
    def salted_sha256(self) -> str:
        """Return the hash that the ledger keeps in place of the text."""
        return salted_sha256(self.salt, self.body)
