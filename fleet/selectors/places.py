"""Where coaches were last seen, by the photos of their roofs."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import F, Window
from django.db.models.functions import RowNumber

from fleet.exhibits.matching import parsed_place
from fleet.models import Exhibit


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where, in degrees (WGS 84), and when it was recorded."""

    latitude: float
    longitude: float
    at: datetime


def last_places(coach_ids: Collection[int]) -> dict[int, Place]:
    """Return where each coach's newest photo with a place was taken."""
    newest = Window(
        RowNumber(),
        partition_by=F("roof__coach_id"),
        order_by=[F("recorded_at").desc(), F("pk").desc()],
    )
    rows = (
        Exhibit.objects.filter(
            roof__coach_id__in=coach_ids,
            place__isnull=False,
            place__erased_at__isnull=True,
        )
        .annotate(rank=newest)
        .filter(rank=1)
    )
    told = rows.values_list("roof__coach_id", "place__body", "recorded_at")
    places: dict[int, Place] = {}
    for coach_id, body, at in told:
        place = parsed_place(body)
        if place is not None:
            latitude, longitude = place
            places[coach_id] = Place(
                latitude=float(latitude), longitude=float(longitude), at=at
            )
    return places
