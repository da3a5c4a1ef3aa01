"""Roofs by the hundred thousand, and the barest view that reads their standings."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import orjson
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import include, path

from fleet.models import Coach, Owner, OwnerKind, Role, Roof, User
from warranty.api.standings import STANDING_COLUMNS
from warranty.models import Coverage, Edition, Standing
from warranty.rules.terms import Anchor

NOON = datetime(2026, 6, 1, 16, tzinfo=UTC)
DAY = date(2026, 6, 1)
BATCH = 5_000


def bare(request: HttpRequest) -> HttpResponse:
    """Answer the first 50 rows, signed in or not at all, and nothing else."""
    if not request.user.is_authenticated:
        return HttpResponse(status=401)
    rows = Roof.objects.order_by("pk").values(*STANDING_COLUMNS.values())[:50]
    told = [
        {name: row[column] for name, column in STANDING_COLUMNS.items()} for row in rows
    ]
    return HttpResponse(
        orjson.dumps({"results": told}), content_type="application/json"
    )


urlpatterns = [path("bare", bare), path("api/v1/", include("config.api"))]


def fill(size: int) -> None:
    """Bring the fleet to so many roofs, each with a coach, a coverage, a standing."""
    edition, _ = Edition.objects.get_or_create(
        code="BENCH-1",
        defaults={
            "title": "Bench",
            "owner_kind": "rental_fleet",
            "anchor": Anchor.ANNIVERSARY.value,
            "interval_months": 12,
            "window_days": 60,
            "grace_days": 30,
            "reinstatement_days": 90,
            "registration_days": 30,
            "serious_cure_days": 30,
            "published_at": NOON,
        },
    )
    owner, _ = Owner.objects.get_or_create(
        name="Sandbar Coach Hire", defaults={"kind": OwnerKind.RENTAL_FLEET}
    )
    for start in range(Roof.objects.count(), size, BATCH):
        numbers = range(start, min(start + BATCH, size))
        coaches = Coach.objects.bulk_create(
            Coach(
                unit_no=f"HL-{number:07}",
                length_m="8",
                width_m="2.4",
                town="Mill Narrows",
                holder=owner,
            )
            for number in numbers
        )
        roofs = Roof.objects.bulk_create(
            Roof(coach=coach, opened_at=NOON, completed_on=DAY) for coach in coaches
        )
        Coverage.objects.bulk_create(
            Coverage(roof=roof, edition=edition) for roof in roofs
        )
        Standing.objects.bulk_create(
            Standing(
                roof=roof,
                word="IN_FORCE",
                as_of=DAY,
                next_due_on=DAY + timedelta(days=roof.pk % 365),
                holds_until=DAY + timedelta(days=30),
                verdicts="MMMMMMMMMMM",
                rule_version="bench",
                assessed_at=NOON,
            )
            for roof in roofs
        )
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def signed_in() -> Client:
    """Return somebody of the office with a session."""
    user, _ = User.objects.get_or_create(username="bench", role=Role.OFFICE)
    client = Client()
    client.force_login(user)
    return client


def rows_of(response: HttpResponse) -> list[dict[str, object]]:
    """Return the rows of an answer."""
    rows: list[dict[str, object]] = orjson.loads(response.content)["results"]
    return rows


def queries(client: Client, address: str) -> int:
    """Return how many queries an answer takes."""
    with CaptureQueriesContext(connection) as seen:
        client.get(address)
    return len(seen)
