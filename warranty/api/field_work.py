"""The work list that a phone takes along, each roof with what its promise is worth."""

from __future__ import annotations

import hashlib
import json
from datetime import datetime

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone

from fleet.api.field.access import for_a_device, open_to_phones
from fleet.civil import office_day
from fleet.models import FieldDevice
from fleet.selectors.field_work import (
    booking_taken_along,
    bookings_for,
    roofs_taken_along,
    systems_taken_along,
    technician_of,
)
from fleet.selectors.records import RoofRecords, roof_records
from warranty.rules.clause import Standing
from warranty.selectors.explanations import explanations_of


@open_to_phones("GET")
@for_a_device
def work(request: HttpRequest, device: FieldDevice) -> HttpResponse:
    """Answer the work list, or 304 when the phone has this one."""
    now = timezone.now()
    body = _work(device, now)
    spelled = json.dumps(body, sort_keys=True).encode()
    tag = f'"{hashlib.sha256(spelled).hexdigest()[:32]}"'
    asked = request.headers.get("If-None-Match", "").split(",")
    if tag in [each.strip().removeprefix("W/") for each in asked]:
        return HttpResponse(status=304, headers={"ETag": tag})
    told = {"server_time": now.isoformat(), "etag": tag, **body}
    return JsonResponse(told, headers={"ETag": tag})


def _work(device: FieldDevice, now: datetime) -> dict[str, object]:
    bookings = list(bookings_for(device.user, today=office_day(now)))
    # Read once, for the plan and for the promise: the list is asked for all day.
    records = roof_records({booking.roof_id for booking in bookings}, known_at=now)
    roofs = roofs_taken_along(records)
    standings = _standings(records, now)
    for roof_id, roof in roofs.items():
        roof["standing"] = standings.get(roof_id)
    return {
        "technician": technician_of(device.user),
        "systems": systems_taken_along(),
        "bookings": [
            booking_taken_along(booking, roofs[booking.roof_id]) for booking in bookings
        ],
    }


def _standings(
    records: dict[int, RoofRecords], now: datetime
) -> dict[int, dict[str, object]]:
    """Return the word, the next due date and what is not met, of each promise."""
    told: dict[int, dict[str, object]] = {}
    answers = explanations_of(
        records, as_of=office_day(now), known_at=now, records=records
    )
    for answer in answers:
        explained = answer.explanation
        due = explained.next_due_on
        is_over = explained.standing is Standing.ENDED
        told[answer.coverage.records.roof.pk] = {
            "word": explained.standing.value,
            "next_due_on": due.isoformat() if due and not is_over else None,
            "because": [result.because for result in explained.unmet],
        }
    return told
