"""What every append-only record carries."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import ClassVar

from django.conf import settings
from django.db import models

from fleet.models.private_text import PrivateText

OFFICE_SCOPE = "office"


class Record(models.Model):
    """A fact as it was recorded. Rows are never updated or deleted.

    A correction is a new row whose ``supersedes`` names the older row's uuid; it may
    arrive first. ``is_void`` strikes the older row without replacing it; ``settles``
    marks the office's word where two corrections contradict each other.
    """

    ledger_fields: ClassVar[tuple[str, ...]] = ()
    # How the feed of changes tells of it; empty: it does not.
    event_kind: ClassVar[str] = ""
    event_noun: ClassVar[str | None] = None

    uuid = models.UUIDField(default=uuid.uuid4, editable=False)
    # Who may have chosen the uuid: the office, or one owner's devices and programs.
    scope = models.CharField(max_length=48, default=OFFICE_SCOPE, editable=False)
    supersedes = models.UUIDField(null=True, blank=True)
    is_void = models.BooleanField(default=False)
    settles = models.BooleanField(default=False)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+"
    )

    class Meta:
        abstract = True

    def ledger_record(self) -> dict[str, object]:
        """Return what the ledger keeps of this row: ids, values, salted hashes."""
        record: dict[str, object] = {
            "type": self._meta.model_name,
            "uuid": str(self.uuid),
        }
        if self.scope != OFFICE_SCOPE:
            record["scope"] = self.scope
        if self.supersedes:
            record["supersedes"] = str(self.supersedes)
        if self.is_void:
            record["void"] = True
        if self.settles:
            record["settles"] = True
        for name in self.ledger_fields:
            value = self._ledger_value(name)
            if value is not None:
                record[name] = value
        return record

    def event_detail(self) -> str:
        """Return which collection the feed of changes says to read again."""
        plural = str(self._meta.verbose_name_plural).replace(" ", "-")
        return plural if self.event_noun is None else self.event_noun

    def _ledger_value(self, name: str) -> object:
        field = self._meta.get_field(name)
        value = getattr(self, name)
        if value is None or value == "":
            return None
        if isinstance(field, models.DecimalField):
            return f"{Decimal(value):.{field.decimal_places}f}"
        if isinstance(value, PrivateText):
            return {"text": str(value.uuid), "sha256": value.salted_sha256}
        if isinstance(value, models.Model):
            return str(value.uuid)  # type: ignore[attr-defined]  # all ours have one
        if isinstance(value, datetime):
            return value.astimezone(UTC).isoformat(timespec="microseconds")
        if isinstance(value, date):
            return value.isoformat()
        if isinstance(value, uuid.UUID):
            return str(value)
        return value


class CoachFact(Record):
    """A fact about a coach; it stands in the ledger of each of the coach's roofs."""

    coach = models.ForeignKey("fleet.Coach", models.PROTECT, related_name="%(class)ss")

    class Meta:
        abstract = True

    def ledger_record(self) -> dict[str, object]:
        """Return the ledger form with its own coach and time: an entry may come later
        and stand in the chain of a coach that this one was merged into."""
        recorded_at = self.recorded_at.astimezone(UTC)
        return super().ledger_record() | {
            "coach": str(self.coach.uuid),
            "recorded_at": recorded_at.isoformat(timespec="microseconds"),
            "recorded_by": str(self.recorded_by.uuid),
        }


class RoofFact(Record):
    """A fact about one roof; ``entry`` is the ledger entry that holds its hash."""

    event_kind = "ROOF"

    roof = models.ForeignKey("fleet.Roof", models.PROTECT, related_name="%(class)ss")
    entry = models.ForeignKey(
        "fleet.LedgerEntry", models.PROTECT, related_name="%(class)ss", editable=False
    )

    class Meta:
        abstract = True

    def event_subject(self) -> uuid.UUID:
        """Return the id of what the feed of changes names."""
        return self.roof.uuid

    def event_owner_id(self, holder_id: int | None) -> int | None:
        """Return whom the feed of changes tells: who holds the coach by now."""
        return holder_id


def record_constraints(name: str) -> list[models.BaseConstraint]:
    """Return the constraints that every record table has, under the table's name."""
    return [
        models.UniqueConstraint(
            name=f"{name}_uuid_once_per_scope", fields=["scope", "uuid"]
        ),
        models.CheckConstraint(
            name=f"{name}_not_its_own_correction",
            condition=models.Q(supersedes__isnull=True)
            | ~models.Q(supersedes=models.F("uuid")),
        ),
        # Striking or settling only makes sense against an older row.
        models.CheckConstraint(
            name=f"{name}_void_names_a_row",
            condition=models.Q(supersedes__isnull=False)
            | models.Q(is_void=False, settles=False),
        ),
    ]
