"""The office's pages of claims, terms and promises, in a browser and by axe."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from fleet.models import Roof, User
from tests import builders
from tests.browser.conftest import DESKTOP, IN_GRACE, PHONE, Visitor
from warranty.actions.approvals import record_other_shop
from warranty.actions.registration_links import make_link
from warranty.models import Certificate, Claim, Edition, VisitApproval

pytestmark = [pytest.mark.browser, pytest.mark.slow]
SIZES = pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
NUMBER = "0A1B2-C3D4E-5F6G7-H8J9K"


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Addresses of one of each page."""

    office: User
    roof: Roof
    claim: Claim
    draft: Edition
    code: str

    def every(self) -> list[str]:
        return [
            "/claims/",
            f"/claims/{self.claim.uuid}/",
            "/terms/",
            "/terms/new",
            f"/terms/{self.draft.uuid}/?signed_on=2026-06-05",
            f"/roofs/{self.roof.uuid}/",
            *(
                f"/roofs/{self.roof.uuid}/{last}"
                for last in ("other-shop", "waivers", "receipts", "claims", "contacts")
            ),
            f"/coaches/{self.roof.coach.uuid}/sale",
            f"/coaches/{self.roof.coach.uuid}/retire",
            f"/owners/{self.roof.coach.holder.uuid}/sale",
            f"/certificate/{NUMBER}",
            f"/register/{self.code}",
            "/register/nothing:here",
        ]


@pytest.fixture
def places(roof, office) -> Places:
    other = builders.make_promised_roof(registered_on=None)
    link = make_link(roof=other, by=office, now=IN_GRACE)
    record_other_shop(
        roof=roof,
        shop="Pine Bend RV Service",
        ref="PB-1",
        kind="INSPECTION",
        happened_on=builders.TODAY,
        result="PASS",
        note="Photos of every vent.",
        by=office,
        now=IN_GRACE,
    )
    issued = Certificate(
        number=NUMBER,
        edition=roof.coverage.edition,
        holder=roof.coach.holder,
        issued_on=builders.TODAY,
        content_sha256="0" * 64,
    )
    builders.record(
        roof=roof, kind="certificate", facts=[issued], by=office, now=IN_GRACE
    )
    return Places(
        office=office,
        roof=roof,
        claim=Claim.objects.get(roof=roof),
        draft=builders.make_draft(),
        code=link.code,
    )


def faults_on(visitor: Visitor) -> list[str]:
    found = Axe().run(visitor.page)
    return [
        f"{each['id']}: {node['html'][:160]}"
        for each in found.response["violations"]
        for node in each["nodes"]
    ]


@SIZES
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_has_a_fault_a_complaint_or_a_spill(visitor_at, places, size, scheme):
    visitor = visitor_at(size, scheme=scheme, user=places.office)
    found = {}

    for path in places.every():
        visitor.open(path)
        spills = ["spills"] if visitor.is_wider_than_the_window() else []
        faults = [*faults_on(visitor), *spills]
        if faults:
            found[path] = faults

    assert found == {}
    # An unknown link is answered 404, which a browser notes by itself.
    assert [c for c in visitor.complaints if "404" not in c] == []


@SIZES
def test_another_shops_inspection_is_approved(visitor_at, places, size):
    visitor = visitor_at(size, user=places.office)
    page = visitor.page
    visitor.open(f"/roofs/{places.roof.uuid}/")

    page.get_by_role("link", name="Approve visit PB-1").click()
    page.get_by_label("Why").fill("Their photos show every vent.")
    page.get_by_role("button", name="Approve the inspection").click()

    expect(page.get_by_text("Visit PB-1 is approved")).to_be_visible()
    assert VisitApproval.objects.count() == 1
    assert visitor.complaints == []


@SIZES
def test_an_owner_registers_by_the_link_without_a_sign_in(visitor_at, places, size):
    visitor = visitor_at(size, has_scripts=False)
    page = visitor.page
    visitor.open(f"/register/{places.code}")

    page.get_by_role("button", name="Register today").click()

    expect(page.get_by_role("heading", name="Registered")).to_be_visible()
    assert visitor.complaints == []


@SIZES
def test_a_coach_is_sold_after_a_look_at_what_it_does(visitor_at, places, size):
    visitor = visitor_at(size, user=places.office)
    page = visitor.page
    visitor.open(f"/coaches/{places.roof.coach.uuid}/sale")

    page.get_by_label("New holder's name").fill("Dale Fenwick")
    page.get_by_label("Sold on").fill("2027-05-18")
    page.get_by_role("button", name="Show what it does").click()
    expect(page.get_by_text("Dale Fenwick, somebody new")).to_be_visible()
    page.get_by_role("button", name="Record the sale").click()

    expect(page.get_by_text("1 coach sold")).to_be_visible()
    expect(page.get_by_text("to Dale Fenwick; notice on").first).to_be_visible()
    assert visitor.complaints == []
