"""Two records of one owner or one coach become one, and it stays visible."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class MergeKind(models.TextChoices):
    OWNER = "OWNER", "owner"
    COACH = "COACH", "coach"


class Merge(models.Model):
    """One merge of a duplicate into the record that stays. Never updated."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=8, choices=MergeKind)
    kept = models.UUIDField()
    dropped = models.UUIDField(unique=True)
    why = models.ForeignKey("fleet.PrivateText", models.PROTECT, related_name="merges")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="merge_kind_known", condition=Q(kind__in=MergeKind.values)
            ),
            models.CheckConstraint(
                name="merge_two_different", condition=~Q(kept=F("dropped"))
            ),
        ]

    def ledger_record(self) -> dict[str, object]:
        """Return what the ledgers of the roofs concerned keep of this row."""
        return {
            "type": "merge",
            "uuid": str(self.uuid),
            "kind": self.kind,
            "kept": str(self.kept),
            "dropped": str(self.dropped),
            "why": {"text": str(self.why.uuid), "sha256": self.why.salted_sha256},
        }
