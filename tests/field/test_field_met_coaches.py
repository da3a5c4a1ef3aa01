"""A visit that nobody booked, at a coach that the phone does not know."""

from __future__ import annotations

from itertools import permutations
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from fleet.actions.met_coaches import (
    AlreadyMatched,
    RoofIsKnown,
    match_met_coach,
)
from fleet.errors import NotAllowed
from fleet.models import Exhibit, FieldOperation, Finding, MetCoach, Roof, Visit
from fleet.selectors.verification import verify_ledgers
from tests.builders import make_roof, make_user
from tests.field.phone import PNG, make_phone, make_technician, op, uuid_of

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@pytest.fixture
def phone():
    return make_phone()


@pytest.fixture
def roof():
    return make_roof()


@pytest.fixture
def office():
    return make_user()


def leak_call(made_up: Roof) -> list[dict]:
    """A visit at a made-up roof: its beginning, a finding, a photo of that, its end."""
    visit = op("visit", made_up, body={"visit_kind": "LEAK_CALL", "coach_told": "HL-9"})
    at = {"visit": uuid_of(visit)}
    finding = op("finding", made_up, **at)
    photo = op("photo", made_up, body={"finding": uuid_of(finding)}, **at)
    end = op(
        "visit",
        made_up,
        body={"visit_kind": "LEAK_CALL", "supersedes": uuid_of(visit)},
    )
    return [visit, finding, photo, end]


def match(told_roof, roof, by) -> int:
    return match_met_coach(told_roof=told_roof, roof=roof, by=by, now=timezone.now())


def states() -> set[str]:
    return set(FieldOperation.objects.values_list("state", flat=True))


def test_what_was_sent_is_kept_and_recorded_once_the_office_says_where(
    phone, roof, office
):
    made_up = Roof(uuid=uuid4())
    sent = leak_call(made_up)
    phone.put_photo(PNG, sent[2]["body"]["photo"])
    answers = [phone.put(each).json() for each in sent]
    assert {each["verdict"] for each in answers} == {"KEPT_ASIDE"}
    assert not Visit.objects.exists()

    assert match(made_up.uuid, roof, office) == 4

    assert states() == {"APPLIED"}
    assert not FieldOperation.objects.filter(is_open=True).exists()
    assert {row.roof for row in Visit.objects.all()} == {roof}
    assert Exhibit.objects.get().finding == Finding.objects.get()
    assert verify_ledgers().faults == []


@pytest.mark.parametrize("order", list(permutations(range(4)))[::3])
@pytest.mark.parametrize("matched_after", [0, 2, 4])
def test_every_order_of_arrival_and_match_gives_the_same_facts(
    phone, roof, office, order, matched_after
):
    made_up = Roof(uuid=uuid4())
    sent = leak_call(made_up)
    phone.put_photo(PNG, sent[2]["body"]["photo"])
    for place, which in enumerate(order):
        if place == matched_after:
            match(made_up.uuid, roof, office)
        phone.put(sent[which])
    if matched_after == 4:
        match(made_up.uuid, roof, office)

    assert states() == {"APPLIED"}
    told = {uuid_of(each) for each in sent}
    tables = (Visit, Finding, Exhibit)
    assert {str(row.uuid) for table in tables for row in table.objects.all()} == told
    assert Exhibit.objects.get().finding == Finding.objects.get()
    assert all(not row.flags for row in FieldOperation.objects.all())


def test_the_same_word_again_is_the_same_and_another_is_refused(phone, roof, office):
    made_up = Roof(uuid=uuid4())
    phone.put(leak_call(made_up)[0])
    match(made_up.uuid, roof, office)

    assert match(made_up.uuid, roof, office) == 0
    with pytest.raises(AlreadyMatched):
        match(made_up.uuid, make_roof(), office)

    assert MetCoach.objects.get().roof == roof


def test_a_roof_on_record_is_never_matched_to_another(roof, office):
    with pytest.raises(RoofIsKnown):
        match(roof.uuid, make_roof(), office)


def test_only_the_office_matches(roof):
    with pytest.raises(NotAllowed):
        match(uuid4(), roof, make_technician())


def test_the_office_matches_on_the_review_page(phone, roof, office):
    made_up = Roof(uuid=uuid4())
    phone.put(leak_call(made_up)[0])
    client = Client()
    client.force_login(office)

    page = client.get("/field-review/").content.decode()
    wrong = client.post(
        f"/field-review/met/{made_up.uuid}", {"unit_no": "none"}, follow=True
    )
    right = client.post(
        f"/field-review/met/{made_up.uuid}",
        {"unit_no": roof.coach.unit_no},
        follow=True,
    )

    assert "told of <strong>HL-9</strong>: 1 records" in page
    assert "No coach with a roof has the number none" in wrong.content.decode()
    assert "Coaches met" not in right.content.decode()
    assert Visit.objects.get().roof == roof
