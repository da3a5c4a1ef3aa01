"""A person can be erased; what was measured stays and still verifies."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import timezone

from fleet.actions.coaches import add_owner, hand_over
from fleet.actions.erasure import ERASED_NAME, erase_owner
from fleet.actions.errors import InvalidValue
from fleet.actions.roofs import record_visit
from fleet.actions.users import register_user
from fleet.models import Visit
from fleet.selectors.verification import verify_ledgers
from tests.builders import make_promised_roof

pytestmark = pytest.mark.django_db


@pytest.fixture
def sold_roof():
    """A roof whose first holder sold it: one visit with a note in each one's time."""
    roof = make_promised_roof()
    by, now = register_user(), timezone.now()
    buyer = add_owner(name="Odell Tarn", kind="private")
    hand_over(coach=roof.coach, owner=buyer, from_on=date(2026, 1, 1), by=by, now=now)
    for ref, day in (("V-first", date(2025, 12, 1)), ("V-second", date(2026, 2, 1))):
        record_visit(
            roof=roof,
            ref=ref,
            kind="INSPECTION",
            happened_on=day,
            note=f"spoke with the holder ({ref})",
            by=by,
            now=now,
        )
    return roof


def test_only_the_erased_persons_time_is_emptied(sold_roof):
    first = sold_roof.coach.ownerships.earliest("from_on").owner

    erase_owner(owner=first, why="their letter", by=register_user(), now=timezone.now())

    first.refresh_from_db()
    assert (first.name, first.email, first.phone) == (ERASED_NAME, "", "")
    assert Visit.objects.get(ref="V-first").note.body == ""
    assert Visit.objects.get(ref="V-second").note.body != ""


def test_verify_says_erased_and_not_broken(sold_roof):
    first = sold_roof.coach.ownerships.earliest("from_on").owner

    erase_owner(owner=first, why="their letter", by=register_user(), now=timezone.now())

    result = verify_ledgers()
    assert result.faults == []
    assert result.erased == 1


def test_a_tombstone_names_the_texts_and_not_the_person(sold_roof):
    first = sold_roof.coach.ownerships.earliest("from_on").owner
    name = first.name

    erase_owner(owner=first, why="their letter", by=register_user(), now=timezone.now())

    tombstone = sold_roof.entries.latest("seq")
    assert tombstone.kind == "erased"
    assert name not in tombstone.payload


def test_erasing_needs_a_reason(sold_roof):
    first = sold_roof.coach.ownerships.earliest("from_on").owner

    with pytest.raises(InvalidValue):
        erase_owner(owner=first, why=" ", by=register_user(), now=timezone.now())
