"""A what-if tells what an edition would change, and changes nothing."""

from __future__ import annotations

import pytest
from django.test import Client

from fleet.models import LedgerEntry
from jobs import relay
from jobs.models import Run
from jobs.registry import HANDLERS
from jobs.what_if import report_of, request_what_if
from tests import builders
from warranty.actions.editions import change_draft
from warranty.models import Coverage, Edition, Standing

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@pytest.fixture
def roofs():
    """Two roofs of two owners: one registered, one never."""
    edition = builders.make_edition()
    return [
        builders.make_promised_roof(edition=edition),
        builders.make_promised_roof(edition=edition, registered_on=None),
    ]


def replayed(draft: Edition, owner=None) -> dict:
    run = request_what_if(
        edition=draft,
        owner=owner,
        as_of=builders.TODAY,
        by=builders.office(),
        now=builders.NOON,
    )
    around = relay.Surroundings(
        handlers=HANDLERS, clock=lambda: builders.NOON, jitter=lambda: 0.0
    )
    while waiting := relay.claim(now=builders.NOON):
        relay.attempt(waiting, around)
    return report_of(Run.objects.get(pk=run.pk))


def test_a_clause_switched_on_takes_a_roof_back_to_pending(roofs):
    report = replayed(builders.make_draft(requires_dry_deck=True))

    assert (report["roofs"], report["changed"]) == (2, 2)
    assert {
        "clause": "deck_dry",
        "from": "NOT_IN_EDITION",
        "to": "UNKNOWN",
        "roofs": 2,
    } in report["clauses"]
    first = next(r for r in report["changed_roofs"] if r["roof"] == str(roofs[0].uuid))
    assert (first["from"], first["to"]) == ("IN_FORCE", "PENDING")


def test_the_counts_add_up_to_all_roofs(roofs):
    report = replayed(builders.make_draft(registration_days=2))

    assert sum(move["roofs"] for move in report["standings"]) == report["roofs"]


def test_the_same_terms_change_nothing(roofs):
    report = replayed(builders.make_draft())

    assert (report["changed"], report["clauses"]) == (0, [])


def test_one_owner_alone(roofs):
    holder = roofs[0].coach.holder

    report = replayed(builders.make_draft(requires_dry_deck=True), owner=holder)

    assert report["roofs"] == 1
    assert report["owner"] == str(holder.uuid)


def test_it_touches_nothing(roofs):
    def everything():
        return [
            list(table.objects.order_by("pk").values())
            for table in (Standing, Coverage, LedgerEntry, Edition)
        ]

    draft = builders.make_draft(requires_dry_deck=True)
    before = everything()

    replayed(draft)

    assert everything() == before


def test_a_draft_that_moved_on_is_not_replayed(roofs):
    draft = builders.make_draft()
    run = request_what_if(
        edition=draft,
        owner=None,
        as_of=builders.TODAY,
        by=builders.office(),
        now=builders.NOON,
    )
    change_draft(edition=draft, version=1, changes={"grace_days": 10})
    around = relay.Surroundings(
        handlers=HANDLERS, clock=lambda: builders.NOON, jitter=lambda: 0.0
    )

    relay.attempt(relay.claim(now=builders.NOON), around)

    run.refresh_from_db()
    assert "changed since" in run.last_error


def client_of(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


def test_the_page_shows_table_and_picture_to_the_office_alone(roofs):
    replayed(builders.make_draft(requires_dry_deck=True))
    where = f"/what-if/{Run.objects.get().uuid}/"

    shown = client_of(builders.office()).get(where).text

    assert "2 of 2 promised roofs would change" in shown
    assert '<svg class="moves"' in shown
    assert roofs[0].coach.unit_no in shown
    manager = client_of(builders.make_manager(roofs[0].coach.holder))
    assert manager.get(where).status_code == 403


def test_the_api_asks_and_answers(roofs):
    draft = builders.make_draft(requires_dry_deck=True)
    office = client_of(builders.office())

    asked = office.post(
        f"/api/v1/editions/{draft.uuid}/what-if", {}, content_type="application/json"
    )
    early = office.get(f"/api/v1/what-ifs/{asked.json()['uuid']}")

    assert (asked.status_code, early.status_code) == (202, 404)
    around = relay.Surroundings(
        handlers=HANDLERS, clock=lambda: builders.NOON, jitter=lambda: 0.0
    )
    now = Run.objects.get().available_at
    relay.attempt(relay.claim(now=now), around)
    answer = office.get(f"/api/v1/what-ifs/{asked.json()['uuid']}").json()
    assert answer["changed"] == 2
    technician = client_of(builders.make_user(role="TECHNICIAN"))
    assert technician.get(f"/api/v1/what-ifs/{asked.json()['uuid']}").status_code == 403
