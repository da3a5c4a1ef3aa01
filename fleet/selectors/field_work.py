"""What a technician's phone takes along: bookings, roofs and systems, no owners."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Q, QuerySet

from fleet.film.level import DEFAULT_LEVEL, READINGS_PER_SPOT, SPOTS_PER_AREA
from fleet.models import (
    Booking,
    BookingState,
    Finding,
    Penetration,
    System,
    SystemCoat,
    Technician,
    User,
)
from fleet.models.system import WeatherLimits
from fleet.selectors.film import NOTCH_POLICY, required_areas
from fleet.selectors.records import RoofRecords

DONE_STAYS = timedelta(days=7)
LIMITS = ("air_min_c", "air_max_c", "rh_max_ratio", "dew_margin_c")
COAT_VALUES = (
    "wet_target_um",
    "volume_solids_ratio",
    "dry_min_um",
    "dry_max_um",
    "recoat_min_hours",
    "recoat_max_hours",
)


def technician_of(user: User) -> dict[str, object]:
    """Return who a phone's person is."""
    known = Technician.objects.filter(user=user).first()
    if known is None:
        return {"uuid": str(user.uuid), "name": str(user)}
    return {"uuid": str(known.uuid), "name": known.name}


def bookings_for(user: User, *, today: date) -> QuerySet[Booking]:
    """Return a technician's bookings and those of nobody yet, the next one first."""
    mine = Q(technician__user=user) | Q(technician__isnull=True)
    recent = Q(state=BookingState.DONE, planned_on__gte=today - DONE_STAYS)
    return (
        Booking.objects.filter(mine, Q(state=BookingState.PLANNED) | recent)
        .select_related("roof__coach", "roof__system")
        .order_by("planned_on", "pk")
    )


def systems_taken_along() -> list[dict[str, object]]:
    """Return every system with its coats and weather limits."""
    systems = System.objects.prefetch_related("coats", "substrates").order_by("code")
    return [
        {
            "code": system.code,
            "title": system.title,
            "substrates": sorted(row.substrate for row in system.substrates.all()),
            "limits": _limits(system),
            "coats": [
                _coat(coat)
                for coat in sorted(system.coats.all(), key=lambda coat: coat.position)
            ],
        }
        for system in systems
    ]


def _coat(coat: SystemCoat) -> dict[str, object]:
    values = {name: _number(getattr(coat, name)) for name in COAT_VALUES}
    return {"role": coat.role, "product": coat.product, **values} | {
        "limits": _limits(coat)
    }


def _limits(row: WeatherLimits) -> dict[str, object]:
    return {name: _number(getattr(row, name)) for name in LIMITS}


def roofs_taken_along(
    found: Mapping[int, RoofRecords],
) -> dict[int, dict[str, object]]:
    """Return each booked roof: its coach without its owner, its plan, its findings."""
    return {roof_id: _roof(records) for roof_id, records in found.items()}


def _roof(records: RoofRecords) -> dict[str, object]:
    roof, coach = records.roof, records.roof.coach
    installed = records.installation
    return {
        "uuid": str(roof.uuid),
        "roof_no": roof.roof_no,
        "coach": {
            "unit_no": coach.unit_no,
            "make": coach.make,
            "model": coach.model,
            "year": coach.model_year,
            "length_m": _number(coach.length_m),
            "width_m": _number(coach.width_m),
            "substrate": roof.substrate or None,
        },
        "system": installed.system.code if installed else None,
        # What a correction of the installation has to name.
        "installation": str(installed.uuid) if installed else None,
        "started_on": _day(installed.started_on if installed else None),
        "completed_on": _day(installed.completed_on if installed else None),
        "penetrations": [_penetration(row) for row in records.penetrations],
        "open_findings": [_finding(row) for row in _open_findings(records)],
        "film_rule": {
            "level": DEFAULT_LEVEL,
            "areas_required": _areas(records),
            "spots_per_area": SPOTS_PER_AREA,
            "readings_per_spot": READINGS_PER_SPOT,
            "notch_policy": NOTCH_POLICY.name,
        },
        "last_visit": _last_visit(records),
    }


def _areas(records: RoofRecords) -> int | None:
    return required_areas(records.description) if records.description else None


def _penetration(row: Penetration) -> dict[str, object]:
    return {
        "uuid": str(row.uuid),
        "label": row.label,
        "kind": row.kind,
        "x_m": _number(row.x_m),
        "y_m": _number(row.y_m),
        "width_m": _number(row.width_m),
        "length_m": _number(row.length_m),
        "is_detailed": row.is_detailed,
    }


def _open_findings(records: RoofRecords) -> list[Finding]:
    cured = {records.origin(cure.finding.uuid) for cure in records.cures}
    return [row for row in records.findings if records.origin(row.uuid) not in cured]


def _finding(row: Finding) -> dict[str, object]:
    return {
        "uuid": str(row.uuid),
        "severity": row.severity,
        "cause": row.cause,
        "note": str(row.note) if row.note else "",
        "penetration_label": row.penetration_label,
        "x_m": _number(row.x_m),
        "y_m": _number(row.y_m),
        "happened_on": _day(row.happened_on),
    }


def _last_visit(records: RoofRecords) -> dict[str, object] | None:
    if not records.visits:
        return None
    last = records.visits[-1]
    return {
        "kind": last.kind,
        "happened_on": _day(last.happened_on),
        "result": last.result,
    }


def booking_taken_along(booking: Booking, roof: dict[str, object]) -> dict[str, object]:
    """Return one booking with its roof."""
    return {
        "uuid": str(booking.uuid),
        "version": booking.version,
        "state": booking.state,
        "kind": booking.kind,
        "planned_on": _day(booking.planned_on),
        "window": booking.window,
        "place": booking.place,
        "roof": roof,
    }


def _number(value: Decimal | None) -> str | None:
    return None if value is None else f"{value:f}"


def _day(value: date | None) -> str | None:
    return None if value is None else value.isoformat()
