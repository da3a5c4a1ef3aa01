"""A phone becomes known by a one-time code."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone

from fleet.actions.devices import pair
from fleet.api.field.access import body_of, give_cookie, members_of, open_to_phones
from fleet.client_address import client_address
from fleet.selectors.field_work import technician_of

PAIR_BYTES_MAX = 4096


@open_to_phones("POST")
def pair_phone(request: HttpRequest) -> HttpResponse:
    """Trade a code for a token that only this phone has."""
    given = members_of(body_of(request, most=PAIR_BYTES_MAX))
    now = timezone.now()
    device, token = pair(
        code=str(given.get("code", "")),
        device_name=str(given.get("device_name", "")),
        address=client_address(request.META, trusted=settings.TRUSTED_PROXIES),
        now=now,
    )
    answer = JsonResponse(
        {
            "device": str(device.uuid),
            "technician": technician_of(device.user),
            "office_zone": settings.OFFICE_TIME_ZONE,
            "server_time": now.isoformat(),
        },
        status=201,
    )
    give_cookie(answer, token)
    return answer
