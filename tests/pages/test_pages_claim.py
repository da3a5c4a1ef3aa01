"""The pages of claims: the list, the decision form, the letter, the questions."""

from __future__ import annotations

import pytest

from tests import builders
from tests.pages.conftest import client_of
from warranty.models import Claim, Decision, DoubtAnswer, Remedy
from warranty.selectors.decisions import grounds_of
from warranty.selectors.doubts import doubts_of


@pytest.fixture
def claim(world) -> Claim:
    return builders.make_claim(world.fleet_roof, ref="C-7001")


def address(claim: Claim, last: str = "") -> str:
    return f"/claims/{claim.uuid}/{last}"


def filled(claim: Claim, **over: str) -> dict[str, str]:
    """Return the decision form as a browser sends it, every clause cited."""
    grounds = grounds_of(claim, known_at=builders.NOON)
    form = {
        "outcome": "APPROVED",
        "approved": "420.00",
        "cause": "detail",
        "seen": grounds.seen,
    }
    for each in grounds.answer.explanation.results:
        form[f"cite_{each.clause}"] = "on"
        form[f"reason_{each.clause}"] = each.because
    return form | over


class TestTheList:
    def test_orders_by_the_clock_that_ends_first(self, world, claim):
        earlier = builders.TODAY.replace(month=5, day=28)
        builders.make_claim(world.private_roof, ref="C-1", reported_on=builders.TODAY)
        builders.make_claim(
            world.private_roof, ref="C-2", noticed_on=earlier, reported_on=earlier
        )

        rows = world.office.get("/claims/").context["found"].rows

        assert rows[0].claim.ref == "C-2"

    def test_a_manager_sees_own_claims_only(self, world, claim):
        builders.make_claim(world.private_roof, ref="C-1")

        rows = world.manager.get("/claims/").context["found"].rows

        assert [row.claim.ref for row in rows] == ["C-7001"]

    def test_says_the_state_in_words(self, world, claim):
        text = world.office.get("/claims/").text

        assert "Waiting for an answer" in text
        assert "10 business days left" in text


class TestWhoMayOpenIt:
    @pytest.mark.parametrize("who", ["office", "technician", "manager"])
    def test_shows_the_clauses_on_the_day(self, world, claim, who):
        response = getattr(world, who).get(address(claim))

        assert response.status_code == 200
        assert "Film accepted" in response.text

    def test_a_stranger_is_told_there_is_none(self, world, claim):
        assert world.stranger.get(address(claim)).status_code == 404

    def test_only_the_office_gets_the_form(self, world, claim):
        assert "/decide" in world.office.get(address(claim)).text
        for who in (world.technician, world.manager):
            assert "/decide" not in who.get(address(claim)).text

    @pytest.mark.parametrize("who", ["technician", "manager"])
    def test_only_the_office_decides(self, world, claim, who):
        client = getattr(world, who)

        response = client.post(address(claim, "decide"), filled(claim))

        assert response.status_code == 403
        assert not Decision.objects.exists()


class TestDecidingIt:
    def test_the_form_decides_and_the_letter_is_there(self, world, claim):
        response = world.office.post(
            address(claim, "decide"), filled(claim), follow=True
        )

        assert "Approved, up to USD 420.00" in response.text
        letter = world.manager.get(address(claim, "letter")).text
        assert "We approve the claim, up to USD 420.00." in letter
        assert "final" not in letter.lower()

    def test_what_was_typed_stays_when_it_is_refused(self, world, claim):
        sent = filled(claim, reason_film="This is the final answer.")

        response = world.office.post(address(claim, "decide"), sent)

        assert response.status_code == 409
        assert "This is the final answer." in response.text
        assert 'role="alert"' in response.text

    def test_an_empty_form_says_what_is_missing(self, world, claim):
        response = world.office.post(address(claim, "decide"), {})

        assert response.status_code == 400
        assert "This field is required." in response.text

    def test_a_second_person_approves_what_the_first_proposed(
        self, world, claim, settings
    ):
        settings.SECOND_APPROVAL_CENTS = 10_000
        response = world.office.post(
            address(claim, "decide"), filled(claim), follow=True
        )
        assert "A second person has to approve it" in response.text

        client_of(builders.make_user()).post(address(claim, "second"))

        assert Decision.objects.get().approved_cents == 42_000

    def test_a_remedy_is_recorded_with_its_cost(self, world, claim):
        world.office.post(address(claim, "decide"), filled(claim))
        cost = {"part": "20.00", "labour": "400.00", "interior": "0.00"}

        world.office.post(address(claim, "remedies"), {"done_on": "2026-06-01", **cost})
        more = world.office.post(
            address(claim, "remedies"), {"done_on": "2026-06-01", **cost}
        )

        assert Remedy.objects.get().total_cents == 42_000
        assert more.status_code == 409


class TestMovingIt:
    def test_the_clock_is_stopped_with_a_reason(self, world, claim):
        response = world.office.post(
            address(claim, "wait"), {"why": "The invoice."}, follow=True
        )

        assert "stands: waiting for the owner" in response.text

    def test_the_holder_withdraws_their_own_claim(self, world, claim):
        world.manager.post(address(claim, "withdraw"), {"why": "It was a window."})

        claim.refresh_from_db()
        assert claim.status == "WITHDRAWN"

    def test_the_holder_stops_no_clock(self, world, claim):
        response = world.manager.post(address(claim, "wait"), {"why": "I wait."})

        assert response.status_code == 403


class TestQuestions:
    def test_equal_readings_are_asked_about_and_answered(self, world, claim):
        [shown, *_] = doubts_of(claim.roof_id, known_at=builders.NOON)
        text = world.office.get(address(claim)).text
        assert "All 15 wet readings of the base coat" in text

        answer = {"key": shown.doubt.key, "word": "DISMISSED", "why": "A still day."}
        response = world.office.post(address(claim, "doubts"), answer, follow=True)

        assert DoubtAnswer.objects.get().word == "DISMISSED"
        assert "Dismissed by office: A still day." in response.text

    def test_a_manager_is_shown_none(self, world, claim):
        assert "All 15 wet readings" not in world.manager.get(address(claim)).text
