from __future__ import annotations

import hashlib
from uuid import uuid4

import pytest

from fleet.actions.attendance import record_attendance, visit
from fleet.models import Visit, VisitKind
from jobs.models import Run
from tests import builders
from tests.builders import NOON, TODAY
from tests.exhibits.sending import do_later_work
from warranty.models import Document


@pytest.fixture
def attended(world):
    record_attendance(
        roof=world.fleet_roof,
        attended=visit(
            uuid=uuid4(),
            ref="V-77",
            kind=VisitKind.INSPECTION,
            happened_on=TODAY,
        ),
        by=builders.office(),
        now=NOON,
    )
    return Visit.objects.get(ref="V-77")


def ask(client, attended):
    return client.post(f"/visits/{attended.uuid}/report")


def test_asking_leads_to_the_run_that_makes_the_report(world, attended):
    response = ask(world.office, attended)

    assert response.headers["Location"] == f"/runs/{Run.objects.get().uuid}/"


def test_a_strangers_request_finds_no_visit(world, attended):
    assert ask(world.stranger, attended).status_code == 404
    assert not Run.objects.exists()


def test_the_roof_page_leads_to_the_report_and_its_bytes_are_the_kept_ones(
    world, attended
):
    ask(world.office, attended)
    do_later_work()
    document = Document.objects.get()

    shown = world.office.get(f"/roofs/{attended.roof.uuid}/")
    fetched = world.office.get(f"/reports/{document.uuid}.pdf")

    assert f"/reports/{document.uuid}.pdf" in shown.text
    assert hashlib.sha256(fetched.content).hexdigest() == document.sha256
    assert world.stranger.get(f"/reports/{document.uuid}.pdf").status_code == 404
