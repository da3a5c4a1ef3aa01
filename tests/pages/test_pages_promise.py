"""The office's forms about one promise: other shops, links, sales, waivers, fees."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from fleet.actions.erasure import erase_owner
from fleet.models import Contact, Owner, Visit
from fleet.selectors.verification import verify_ledgers
from tests import builders
from tests.pages.conftest import client_of
from warranty.models import (
    Claim,
    DoubtAnswer,
    Receipt,
    Registration,
    RegistrationLink,
    Transfer,
    VisitApproval,
    Waiver,
)
from warranty.selectors.doubts import doubts_of
from warranty.selectors.standings import standings_of

TODAY = builders.TODAY.isoformat()
PAGES = (
    "other-shop",
    "waivers",
    "receipts",
    "registration",
    "contacts",
)


def address(roof, last: str = "") -> str:
    return f"/roofs/{roof.uuid}/{last}"


def due_on(roof):
    told = standings_of([roof.pk], as_of=builders.TODAY, known_at=builders.NOON)
    return told[roof.pk].next_due_on


@pytest.mark.parametrize("last", PAGES)
class TestWhoMayOpenThem:
    def test_the_office_gets_a_form(self, world, last):
        assert world.office.get(address(world.fleet_roof, last)).status_code == 200

    @pytest.mark.parametrize("who", ["technician", "manager"])
    def test_others_are_refused(self, world, who, last):
        for ask in (getattr(world, who).get, getattr(world, who).post):
            assert ask(address(world.fleet_roof, last)).status_code == 403

    def test_an_empty_form_is_shown_again_with_its_faults(self, world, last):
        sent = {"registered_on": "soon", "paid": "much", "from_on": "", "shop": ""}

        response = world.office.post(address(world.fleet_roof, last), sent)

        assert response.status_code == 400
        assert "field-fault" in response.text

    def test_nobody_is_led_to_the_sign_in(self, world, last):
        assert world.nobody.get(address(world.fleet_roof, last)).status_code == 302


@pytest.fixture
def old_roof(world):
    """A roof whose first inspection is due on the day asked."""
    done = builders.TODAY - timedelta(days=365)
    laid = builders.make_installation(
        started_on=done - timedelta(days=1), completed_on=done
    )
    return builders.make_promised_roof(laid=laid, registered_on=done)


class TestOtherShops:
    def entered(self, world, roof) -> Visit:
        sent = {
            "shop": "Pine Bend RV Service",
            "ref": "PB-1",
            "kind": "INSPECTION",
            "happened_on": TODAY,
            "result": "PASS",
            "note": "Photos of every vent.",
        }
        answer = world.office.post(address(roof, "other-shop"), sent)
        assert answer.status_code == 302, answer.text
        return Visit.objects.get(ref="PB-1")

    def test_it_counts_once_the_office_approves_it(self, world, old_roof):
        before = due_on(old_roof)
        visit = self.entered(world, old_roof)
        assert due_on(old_roof) == before
        page = world.office.get(address(old_roof)).text
        assert "It does not count: the edition asks" in page

        answer = world.office.post(
            f"/visits/{visit.uuid}/approve", {"why": "Their photos show every vent."}
        )

        assert answer.status_code == 302
        assert due_on(old_roof) > before
        page = world.office.get(address(old_roof)).text
        assert "Their photos show every vent." in page

    def test_it_counts_no_more_once_the_approval_is_withdrawn(self, world, old_roof):
        before = due_on(old_roof)
        visit = self.entered(world, old_roof)
        world.office.post(f"/visits/{visit.uuid}/approve", {"why": "Photos."})
        approval = VisitApproval.objects.get()

        world.office.post(
            f"/visit-approvals/{approval.uuid}/withdraw", {"why": "Another roof."}
        )

        assert due_on(old_roof) == before
        again = world.office.post(
            f"/visits/{visit.uuid}/approve", {"why": "The right photos came."}
        )
        assert again.status_code == 302
        assert due_on(old_roof) > before

    def test_is_approved_once(self, world, old_roof):
        visit = self.entered(world, old_roof)
        world.office.post(f"/visits/{visit.uuid}/approve", {"why": "Photos."})

        again = world.office.post(f"/visits/{visit.uuid}/approve", {"why": "Photos."})

        assert again.status_code == 409
        assert VisitApproval.objects.count() == 1

    def test_a_visit_of_our_own_needs_no_approval(self, world, old_roof):
        self.entered(world, old_roof)
        builders.record(
            roof=old_roof,
            kind="visit",
            facts=[
                Visit(
                    ref="OWN-1",
                    kind="INSPECTION",
                    happened_on=builders.TODAY,
                    result="PASS",
                )
            ],
            by=builders.office(),
            now=builders.NOON,
        )
        own = Visit.objects.get(ref="OWN-1")

        response = world.office.post(f"/visits/{own.uuid}/approve", {"why": "So."})

        assert "is ours: it counts by itself" in response.text

    def test_the_shop_stands_in_no_ledger_and_can_be_erased(self, world, old_roof):
        visit = self.entered(world, old_roof)
        assert "Pine Bend" not in visit.entry.payload

        erase_owner(
            owner=old_roof.coach.holder,
            why="Asked.",
            by=builders.office(),
            now=builders.NOON,
        )

        visit.refresh_from_db()
        assert str(visit.shop) == "(erased)"
        assert visit.is_by_other_shop
        assert verify_ledgers().faults == []


class TestOwnersLink:
    @pytest.fixture
    def roof(self, world):
        return builders.make_promised_roof(registered_on=None)

    def link(self, world, roof) -> str:
        page = world.office.post(address(roof, "registration-link"))
        assert page.status_code == 200, page.text
        return page.context["address"].removeprefix("http://testserver")

    def test_registers_the_coverage_once(self, world, roof):
        link = self.link(world, roof)
        shown = Client().get(link)
        assert "Register by" in shown.text
        assert roof.coach.holder.name not in shown.text
        assert shown.headers["Referrer-Policy"] == "same-origin"

        done = Client().post(link)

        assert "is registered as of" in done.text
        kept = Registration.objects.get(roof=roof)
        assert (kept.registered_on, kept.link.roof) == (builders.TODAY, roof)
        assert Client().get(link).status_code == 404
        assert Client().post(link).status_code == 409
        assert Registration.objects.filter(roof=roof).count() == 1
        assert verify_ledgers().faults == []

    def test_a_new_link_ends_the_one_before(self, world, roof, monkeypatch):
        first = self.link(world, roof)
        later = builders.NOON + timedelta(minutes=1)
        monkeypatch.setattr("django.utils.timezone.now", lambda: later)

        second = self.link(world, roof)

        assert Client().get(first).status_code == 404
        assert Client().get(second).status_code == 200

    def test_ends_after_sixty_days(self, world, roof, monkeypatch):
        link = self.link(world, roof)
        late = builders.NOON + timedelta(days=60)
        monkeypatch.setattr("django.utils.timezone.now", lambda: late)

        assert Client().get(link).status_code == 404
        assert Client().post(link).status_code == 409

    def test_a_made_up_code_costs_no_query(
        self, world, roof, django_assert_num_queries
    ):
        with django_assert_num_queries(0):
            assert Client().get("/register/0123456789abcdef:forged").status_code == 404

    def test_the_code_is_kept_as_a_hash_alone(self, world, roof):
        code = self.link(world, roof).rsplit("/", 1)[1]

        kept = RegistrationLink.objects.get()

        assert code not in str(vars(kept))

    def test_asks_for_the_token_that_a_page_of_ours_carries(self, world, roof):
        link = self.link(world, roof)

        refused = Client(enforce_csrf_checks=True).post(link)

        assert refused.status_code == 403
        assert not Registration.objects.filter(roof=roof).exists()

    def test_an_address_that_hammers_waits(self, world, roof):
        answers = [Client().post("/register/x:y").status_code for _ in range(31)]

        assert answers[:30] == [409] * 30
        assert answers[30] == 429
        waits = Client().post(self.link(world, roof))
        assert waits.headers["Retry-After"] == "600"
        later_link = self.link(world, roof)
        other = Client(REMOTE_ADDR="198.51.100.7").post(later_link)
        assert other.status_code == 200

    def test_is_refused_once_registered(self, world, roof):
        world.office.post(address(roof, "registration"), {"registered_on": TODAY})

        assert world.office.post(address(roof, "registration-link")).status_code == 409

    @pytest.mark.parametrize("who", ["technician", "manager"])
    def test_only_the_office_hands_them_out(self, world, who):
        ask = getattr(world, who).post

        assert ask(address(world.fleet_roof, "registration-link")).status_code == 403


class TestSales:
    def told(self, **over: str) -> dict[str, str]:
        return {
            "holder_name": "Dale Fenwick",
            "holder_kind": "private",
            "sold_on": TODAY,
            "told_on": TODAY,
            "sale": "8c8f1b0e-6a0b-4c4e-9a55-7d1a3c1f6e21",
        } | over

    def test_a_preview_records_nothing(self, world):
        roof = world.private_roof
        before = Owner.objects.count()

        shown = world.office.post(f"/coaches/{roof.coach.uuid}/sale", self.told())

        assert "Record the sale" in shown.text
        assert "no deadline" in shown.text
        assert not Transfer.objects.exists()
        assert Owner.objects.count() == before

    def test_a_sale_passes_the_promise_on(self, world):
        roof = world.private_roof
        sent = self.told(confirm="yes", holder="")

        answer = world.office.post(f"/coaches/{roof.coach.uuid}/sale", sent)

        assert answer.status_code == 302
        roof.coach.refresh_from_db()
        assert roof.coach.holder.name == "Dale Fenwick"
        page = world.office.get(address(roof)).text
        assert "to Dale Fenwick; notice on" in page

    def test_sent_twice_it_is_one_sale(self, world):
        roof = world.private_roof
        sent = self.told(confirm="yes", holder="")
        before = Owner.objects.count()

        for _ in range(2):
            world.office.post(f"/coaches/{roof.coach.uuid}/sale", sent)

        assert Transfer.objects.count() == 1
        assert Owner.objects.count() == before + 1

    def test_a_refused_sale_leaves_no_new_owner(self, world):
        edition = builders.make_edition(
            is_transferable=False, covered_owner="The first owner alone."
        )
        roof = builders.make_promised_roof(edition=edition)
        before = Owner.objects.count()
        sent = self.told(confirm="yes", holder="")

        answer = world.office.post(f"/coaches/{roof.coach.uuid}/sale", sent)

        assert answer.status_code == 409
        assert "does not pass to a later holder" in answer.text
        assert Owner.objects.count() == before

    def test_a_fleet_sells_what_is_ticked_to_somebody_on_record(self, world):
        coach = builders.make_coach(owner=world.fleet, unit_no="HL-7009")
        builders.make_promised_roof(coach=coach)
        buyer = builders.make_owner(name="Lakeside Rentals", kind="rental_fleet")
        sent = self.told(holder_name="lakeside rentals", holder_kind="rental_fleet") | {
            "coach": [str(coach.uuid), str(world.fleet_roof.coach.uuid)]
        }
        shown = world.office.post(f"/owners/{world.fleet.uuid}/sale", sent)
        assert "Lakeside Rentals, rental fleet, on record" in shown.text

        sent |= {"confirm": "yes", "holder": str(buyer.uuid)}
        world.office.post(f"/owners/{world.fleet.uuid}/sale", sent)

        assert buyer.coaches.count() == 2
        assert Transfer.objects.filter(holder=buyer).count() == 2

    def test_a_late_notice_is_said(self, world):
        edition = builders.make_edition(transfer_notice_days=30)
        roof = builders.make_promised_roof(edition=edition)
        sold = (builders.TODAY - timedelta(days=31)).isoformat()

        shown = world.office.post(
            f"/coaches/{roof.coach.uuid}/sale", self.told(sold_on=sold)
        )

        assert "(late)" in shown.text

    def test_a_retired_coach_ends_its_promise(self, world):
        roof = world.private_roof

        answer = world.office.post(
            f"/coaches/{roof.coach.uuid}/retire", {"retired_on": TODAY}
        )

        assert answer.status_code == 302
        assert "The coach was retired" in world.office.get(address(roof)).text

    @pytest.mark.parametrize("who", ["technician", "manager"])
    def test_only_the_office_sells_and_retires(self, world, who):
        coach, client = world.fleet_roof.coach, getattr(world, who)

        assert client.get(f"/coaches/{coach.uuid}/sale").status_code == 403
        assert client.get(f"/coaches/{coach.uuid}/retire").status_code == 403
        assert client.get(f"/owners/{world.fleet.uuid}/sale").status_code == 403


class TestWaiversReceiptsContacts:
    def test_a_waiver_is_seconded_by_another_person(self, world):
        roof = world.private_roof
        sent = {"clause": "climate", "from_on": TODAY, "why": "The logger was wet."}
        world.office.post(address(roof, "waivers"), sent)
        first = Waiver.objects.get()
        assert "The logger was wet." in world.office.get(address(roof)).text

        same = world.office.post(f"/waivers/{first.uuid}/second")
        other = client_of(builders.make_user()).post(f"/waivers/{first.uuid}/second")

        assert (same.status_code, other.status_code) == (400, 302)
        assert Waiver.objects.filter(seconded_by=builders.office()).count() == 1

    def test_a_fee_is_kept_in_cents_and_shown_to_staff_alone(self, world):
        roof = world.fleet_roof
        sent = {"happened_on": TODAY, "invoice_no": "R-77", "paid": "95.40"}

        world.office.post(address(roof, "receipts"), sent)

        assert Receipt.objects.get().paid_cents == 9540
        assert "R-77" in world.technician.get(address(roof)).text
        assert "R-77" not in world.manager.get(address(roof)).text

    def test_a_contact_is_added_changed_and_removed(self, world):
        roof = world.fleet_roof
        sent = {"role": "YARD", "name": "Yard 2", "phone": "555 0101"}
        world.office.post(address(roof, "contacts"), sent)
        made = Contact.objects.get()
        assert "Yard 2" in world.office.get(address(roof)).text
        assert "Yard 2" not in world.manager.get(address(roof)).text

        where = address(roof, f"contacts/{made.uuid}")
        world.office.post(where, sent | {"phone": "555 0102", "version": "1"})
        stale = world.office.post(where, sent | {"version": "1"})

        made.refresh_from_db()
        assert (made.phone, stale.status_code) == ("555 0102", 412)
        world.office.post(f"{where}/remove")
        assert not Contact.objects.exists()

    def test_contacts_go_with_their_owner(self, world):
        sent = {"role": "SPOUSE", "name": "Robin", "email": "robin@example.org"}
        world.office.post(address(world.private_roof, "contacts"), sent)

        erase_owner(
            owner=world.private_roof.coach.holder,
            why="Asked.",
            by=builders.office(),
            now=builders.NOON,
        )

        assert not Contact.objects.exists()


class TestClaimsAndDoubts:
    @pytest.mark.parametrize("who", ["office", "manager"])
    def test_a_leak_is_reported_on_the_roofs_page(self, world, who):
        client, roof = getattr(world, who), world.fleet_roof
        assert "Report a leak" in client.get(address(roof)).text
        sent = {
            "noticed_on": TODAY,
            "reported_on": TODAY,
            "description": "Drip below the vent.",
            "penetration_label": "vent 1",
            "estimate": "420.00",
        }

        answer = client.post(address(roof, "claims"), sent)

        assert answer.status_code == 302, answer.text
        assert Claim.objects.get().reports.get().estimate_cents == 42_000

    def test_reported_before_it_was_noticed_is_refused_at_its_field(self, world):
        later = (builders.TODAY + timedelta(days=1)).isoformat()
        sent = {"noticed_on": later, "reported_on": TODAY, "description": "Drip."}

        response = world.office.post(address(world.fleet_roof, "claims"), sent)

        assert "lies after the report" in response.text
        assert not Claim.objects.exists()

    def test_a_question_is_answered_on_the_roofs_page(self, world):
        roof = world.fleet_roof
        asked = doubts_of(roof.pk, known_at=builders.NOON)[0]
        assert "Questions" in world.office.get(address(roof)).text
        assert "Questions" not in world.manager.get(address(roof)).text

        sent = {"key": asked.doubt.key, "word": "DISMISSED", "why": "One gauge."}
        world.office.post(address(roof, "doubts"), sent)

        assert DoubtAnswer.objects.get().word == "DISMISSED"
        assert "One gauge." in world.office.get(address(roof)).text
