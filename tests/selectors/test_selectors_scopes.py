"""Who sees what, over sales and merges."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import AnonymousUser

from fleet.actions.coaches import hand_over, merge_coaches, merge_owners
from fleet.actions.errors import AlreadyMerged, InvalidValue
from fleet.models import Coach, Owner, Role
from fleet.selectors.scopes import (
    coaches_visible_to,
    owners_visible_to,
    roofs_visible_to,
    scope_of,
)
from fleet.selectors.verification import verify_ledgers
from tests.builders import (
    NOON,
    TODAY,
    make_claim,
    make_coach,
    make_manager,
    make_owner,
    make_roof,
    make_user,
    office,
)
from warranty.selectors.claims import claims_visible_to

pytestmark = pytest.mark.django_db


@pytest.fixture
def roof():
    return make_roof(coach=make_coach())


def sees(user, visible):
    return set(visible(scope_of(user)))


def told() -> dict:
    return {"by": office(), "now": NOON}


class TestScope:
    def test_office_and_technicians_see_everything(self, roof):
        for role in (Role.OFFICE, Role.TECHNICIAN):
            assert sees(make_user(role=role), roofs_visible_to) == {roof}

    def test_a_manager_sees_the_own_coaches_only(self, roof):
        manager = make_manager(roof.coach.holder)
        stranger = make_manager(make_owner())

        assert sees(manager, roofs_visible_to) == {roof}
        assert sees(stranger, roofs_visible_to) == set()
        assert sees(stranger, coaches_visible_to) == set()
        assert sees(stranger, owners_visible_to) == {stranger.owner}

    def test_nobody_and_the_dismissed_see_nothing(self, roof):
        dismissed = make_user(is_active=False)

        for user in (AnonymousUser(), dismissed):
            assert sees(user, roofs_visible_to) == set()


class TestSale:
    def test_the_new_holder_sees_the_roof_and_the_old_one_no_more(self, roof):
        seller, buyer = roof.coach.holder, make_owner()

        hand_over(coach=roof.coach, owner=buyer, from_on=TODAY, **told())

        assert sees(make_manager(buyer), roofs_visible_to) == {roof}
        assert sees(make_manager(seller), roofs_visible_to) == set()

    def test_claims_stay_with_who_held_then(self, roof):
        seller, buyer = roof.coach.holder, make_owner()
        claim = make_claim(roof, noticed_on=TODAY - timedelta(days=1))

        hand_over(coach=roof.coach, owner=buyer, from_on=TODAY, **told())

        assert sees(make_manager(seller), claims_visible_to) == {claim}
        assert sees(make_manager(buyer), claims_visible_to) == set()


class TestMergedOwners:
    def test_managers_of_either_see_what_both_hold(self, roof):
        other = make_roof()
        kept, dropped = roof.coach.holder, other.coach.holder
        claim = make_claim(other)

        merge_owners(kept=kept, dropped=dropped, why="twice", **told())

        dropped.refresh_from_db()
        for owner in (kept, dropped):
            manager = make_manager(owner)
            assert sees(manager, roofs_visible_to) == {roof, other}
            assert sees(manager, claims_visible_to) == {claim}

    def test_a_chain_of_merges_ends_at_the_last(self, roof):
        first, second, third = roof.coach.holder, make_owner(), make_owner()

        merge_owners(kept=second, dropped=first, why="twice", **told())
        merge_owners(kept=third, dropped=second, why="thrice", **told())

        for owner in Owner.objects.filter(pk__in=[first.pk, second.pk, third.pk]):
            assert owner == third or owner.merged_into == third
            assert sees(make_manager(owner), roofs_visible_to) == {roof}

    def test_the_kept_one_holds_after_the_next_record_too(self, roof):
        kept, dropped = make_owner(), roof.coach.holder
        merge_owners(kept=kept, dropped=dropped, why="twice", **told())

        later = TODAY + timedelta(days=9)
        hand_over(coach=roof.coach, owner=make_owner(), from_on=later, **told())

        roof.coach.refresh_from_db()
        assert roof.coach.holder == kept

    def test_none_is_merged_twice_or_into_itself(self, roof):
        kept, dropped = make_owner(), roof.coach.holder
        with pytest.raises(InvalidValue):
            merge_owners(kept=kept, dropped=kept, why="twice", **told())
        merge_owners(kept=kept, dropped=dropped, why="twice", **told())

        # The object at hand does not know of the merge yet.
        with pytest.raises(AlreadyMerged):
            merge_owners(kept=dropped, dropped=kept, why="back", **told())
        assert not Owner.objects.get(pk=kept.pk).merged_into


class TestMergedCoaches:
    def test_roofs_move_and_keep_apart(self, roof):
        other = make_roof()

        merge_coaches(kept=roof.coach, dropped=other.coach, why="twice", **told())

        numbers = roof.coach.roofs.order_by("roof_no").values_list("pk", "roof_no")
        assert list(numbers) == [(roof.pk, 1), (other.pk, 2)]
        assert sees(office(), coaches_visible_to) == {roof.coach}
        assert verify_ledgers().faults == []

    def test_what_is_told_of_the_dropped_one_is_told_of_the_kept_one(self, roof):
        other, buyer = make_roof(), make_owner()
        dropped = Coach.objects.get(pk=other.coach.pk)
        merge_coaches(kept=roof.coach, dropped=other.coach, why="twice", **told())

        hand_over(coach=dropped, owner=buyer, from_on=TODAY, **told())

        assert sees(make_manager(buyer), roofs_visible_to) == {roof, other}
        assert verify_ledgers().faults == []
