"""The office empties the tray of old photos on a page, a photo at a time."""

from __future__ import annotations

import io
from datetime import date

import pytest
from django.utils import timezone

from fleet import store
from fleet.actions.exhibits import examine
from fleet.actions.roofs import record_visit
from fleet.actions.tray import settle_match
from fleet.exhibits.matching import Match, Unmatched
from fleet.models import Exhibit, TrayPhoto
from jobs.exhibits import request_copies
from tests.exhibits import pictures
from tests.exhibits.sending import do_later_work

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
PAGES = ("field-review", "field-bookings", "field-devices", "field-files", "photo-tray")


@pytest.fixture
def waiting(world) -> TrayPhoto:
    """A photo of no visit's day, with its small copies made."""
    now = timezone.now()
    with store.incoming() as file:
        file.write(io.BytesIO(pictures.photo()).getvalue())
        examined = examine(file)
        file.keep()
    row = settle_match(
        file=examined,
        file_name="vent.jpg",
        match=Match(unmatched=Unmatched.NO_VISIT_THAT_DAY),
        by=world.office_user,
        now=now,
    )
    request_copies(examined, by=world.office_user, now=now)
    do_later_work()
    return row


def test_a_photo_is_shown_and_given_to_the_visit_of_a_reference(world, waiting):
    visit = record_visit(
        roof=world.roof,
        ref="V-2024-7",
        kind="INSPECTION",
        happened_on=date(2024, 7, 5),
        by=world.office_user,
        now=timezone.now(),
    )
    page = world.office.get("/photo-tray/").content.decode()
    small = world.office.get(f"/photo-tray/{waiting.uuid}/picture")

    answer = world.office.post(
        f"/photo-tray/{waiting.uuid}", {"how": "assign", "ref": "V-2024-7"}, follow=True
    )

    assert "vent.jpg" in page
    assert b"".join(small.streaming_content)[:2] == b"\xff\xd8"
    assert "belongs to V-2024-7" in answer.content.decode()
    assert Exhibit.objects.get().visit == visit
    assert "No photo waits." in answer.content.decode()


def test_a_reference_of_no_visit_leaves_it_waiting(world, waiting):
    answer = world.office.post(
        f"/photo-tray/{waiting.uuid}", {"how": "assign", "ref": "V-none"}, follow=True
    )

    assert "No visit has the reference V-none." in answer.content.decode()
    assert "vent.jpg" in answer.content.decode()
    assert not Exhibit.objects.exists()


def test_it_is_left_out_once(world, waiting):
    first, second = (
        world.office.post(
            f"/photo-tray/{waiting.uuid}", {"how": "leave-out"}, follow=True
        )
        for _ in range(2)
    )

    assert "is left out" in first.content.decode()
    assert "no longer waits" in second.content.decode()


def test_the_menu_leads_to_every_page_of_field_work(world):
    for name in PAGES:
        answer = world.office.get(f"/{name}/")
        told = answer.content.decode()
        assert answer.status_code == 200
        assert all(f'href="/{other}/"' in told for other in PAGES)
        assert 'aria-current="page"' in told


def test_technicians_see_their_phones_and_no_tray(world):
    assert world.technician.get("/photo-tray/").status_code == 403
    told = world.technician.get("/field-devices/").content.decode()
    assert 'href="/field-devices/"' in told
    assert 'href="/photo-tray/"' not in told
