"""What phones sent that the office has to look at, and the phones themselves."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Count, Q, QuerySet

from fleet.ledger.correction import rows_that_stand
from fleet.models import (
    Booking,
    BookingState,
    FieldDevice,
    FieldOperation,
    OperationState,
    Role,
    Roof,
    Settlement,
    Technician,
    User,
    Visit,
)

SHOWN_MAX = 100
MET_OPERATIONS_MAX = 2000
FLAG_WORDS = {
    "disputed": "Another correction of the same record says something else.",
    "same-visit-twice": "A visit of this kind on this roof and day is told twice.",
    "booking-changed": "The booking was changed or cancelled before this came.",
    "clock-skew": "The phone's clock was ahead of ours.",
    "unknown-field": "It has members that this version does not know.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """One operation as the office sees it, beside the other bodies under its id."""

    operation: FieldOperation
    body: str
    flags: tuple[str, ...]
    others: tuple[tuple[FieldOperation, str], ...]

    @property
    def can_apply(self) -> bool:
        """Return whether recording it as it is makes a difference."""
        if self.operation.state == OperationState.APPLIED:
            return "disputed" in self.operation.flags
        return self.operation.reason_code != "not-an-object"


def open_operations() -> QuerySet[FieldOperation]:
    """Return what waits for the office's word, the oldest first."""
    rows = FieldOperation.objects.filter(is_open=True)
    return _joined(rows).order_by("received_at", "pk")


def waiting_operations() -> QuerySet[FieldOperation]:
    """Return what waits for something else to arrive, the oldest first."""
    rows = FieldOperation.objects.filter(
        state=OperationState.WAITING, settlement=Settlement.NONE
    )
    return _joined(rows).order_by("received_at", "pk")


def _joined(rows: QuerySet[FieldOperation]) -> QuerySet[FieldOperation]:
    return rows.select_related("device__user", "roof__coach", "entry")


def reviews(rows: QuerySet[FieldOperation]) -> list[Review]:
    """Return operations with the bodies that share their id, or their record."""
    shown = list(rows[:SHOWN_MAX])
    beside = _beside(shown)
    return [
        Review(
            operation=row,
            body=spelled(row),
            flags=tuple(FLAG_WORDS.get(flag, flag) for flag in row.flags),
            others=tuple(
                (other, spelled(other))
                for other in beside[row.device_id, row.op_id]
                if other.pk != row.pk
            ),
        )
        for row in shown
    ]


def _beside(
    shown: Sequence[FieldOperation],
) -> dict[tuple[int, object], list[FieldOperation]]:
    wanted = Q(op_id__in=[row.op_id for row in shown])
    found: dict[tuple[int, object], list[FieldOperation]] = defaultdict(list)
    for row in FieldOperation.objects.filter(wanted).order_by("pk"):
        found[row.device_id, row.op_id].append(row)
    return found


def spelled(row: FieldOperation) -> str:
    """Return a body as text to read: indented when it is JSON."""
    if row.erased_at is not None:
        return "(erased)"
    text = bytes(row.raw).decode("utf-8", "backslashreplace")
    try:
        return json.dumps(json.loads(text), indent=2, ensure_ascii=False)
    except (ValueError, RecursionError):
        return text


def devices_for(user: User) -> QuerySet[FieldDevice]:
    """Return all phones to the office, their own to a technician."""
    rows = FieldDevice.objects.select_related("user", "revoked_by")
    if user.role != Role.OFFICE:
        rows = rows.filter(user=user)
    return rows.annotate(sent=Count("operations")).order_by("revoked_at", "-paired_at")


def people_to_pair(user: User) -> QuerySet[User]:
    """Return whose phones this person may pair."""
    rows = User.objects.filter(
        is_active=True, role__in=[Role.TECHNICIAN, Role.OFFICE]
    ).order_by("username")
    return rows if user.role == Role.OFFICE else rows.filter(pk=user.pk)


def every_operation() -> QuerySet[FieldOperation]:
    """Return all that phones ever sent."""
    return FieldOperation.objects.all()


def planned_bookings() -> QuerySet[Booking]:
    """Return what is planned, the next one first."""
    rows = Booking.objects.filter(state=BookingState.PLANNED)
    joined = rows.select_related("roof__coach", "technician")
    return joined.order_by("planned_on", "pk")


def technicians_by_name() -> QuerySet[Technician]:
    """Return everybody who works on roofs."""
    return Technician.objects.order_by("name")


def visit_called(ref: str) -> Visit | None:
    """Return the visit with this reference that counts: corrections keep it."""
    named = list(Visit.objects.filter(ref=ref).select_related("roof").order_by("pk"))
    standing = rows_that_stand(named).rows
    return standing[-1] if standing else None


def newest_roof_of(unit_no: str) -> Roof | None:
    """Return the roof that a visit of this coach, by its number or VIN, is about."""
    is_told = Q(coach__unit_no=unit_no) | Q(coach__vin__iexact=unit_no)
    rows = Roof.objects.filter(is_told, coach__merged_into__isnull=True)
    return rows.order_by("-roof_no").first()


@dataclass(slots=True, kw_only=True)
class Met:
    """A coach that phones met, and the office has not said which it is."""

    told_roof: UUID
    coach_told: str = ""
    person: User
    count: int = 0


def met_coaches() -> list[Met]:
    """Return the unknown roofs that open operations name, as they were told of."""
    found: dict[UUID, Met] = {}
    rows = open_operations().filter(reason_code="unknown-roof", roof__isnull=True)
    for row in rows[:MET_OPERATIONS_MAX]:
        roof, coach = _told(row)
        if roof is None:
            continue
        met = found.setdefault(roof, Met(told_roof=roof, person=row.device.user))
        met.count += 1
        met.coach_told = met.coach_told or coach
    return list(found.values())


def _told(row: FieldOperation) -> tuple[UUID | None, str]:
    """Return the roof's id and the coach as an operation's bytes tell them."""
    try:
        whole = json.loads(bytes(row.raw))
        roof = UUID(whole["roof"])
        coach = whole["body"].get("coach_told", "")
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None, ""
    return roof, coach if isinstance(coach, str) else ""
