"""A person at the office finds a roof in its grace and reads why."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.conftest import DESKTOP, PASSWORD, PHONE, Visitor

pytestmark = [pytest.mark.browser, pytest.mark.slow]
SIZES = pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
SCRIPTS = pytest.mark.parametrize("has_scripts", [True, False], ids=["htmx", "plain"])


@SIZES
@SCRIPTS
def test_from_signing_in_to_why_a_roof_is_at_risk(visitor_at, roof, size, has_scripts):
    visitor = visitor_at(size, has_scripts=has_scripts)
    page = visitor.page
    visitor.open("/")
    page.get_by_label("Name").fill("office")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Roofs", exact=True).click()

    page.get_by_label("Coach no., VIN, owner or town").fill("dbr07001")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_text("1 roof.")).to_be_visible()
    expect(page).to_have_url(re.compile("q=dbr07001"))
    page.get_by_role("link", name="HL-7001").click()

    expect(page.get_by_role("heading", name="At risk")).to_be_visible()
    reason = page.get_by_text("it still counts until 4 July 2027").first
    expect(reason).to_be_visible()
    assert visitor.complaints == []


def test_results_follow_the_typing_and_the_way_back_leads_back(
    visitor_at, roof, office
):
    visitor = visitor_at(user=office)
    page = visitor.page
    visitor.open("/roofs/")

    page.get_by_label("Standing").select_option("SUSPENDED")

    expect(page.get_by_text("No roof found.")).to_be_visible()
    expect(page).to_have_url(re.compile("standing=SUSPENDED"))
    page.go_back()
    expect(page.get_by_text("2 roofs.")).to_be_visible()
    assert visitor.complaints == []


def test_the_keyboard_reaches_the_page_past_the_head(visitor_at, roof, office):
    visitor = visitor_at(user=office)
    visitor.open(f"/roofs/{roof.uuid}/")

    visitor.page.keyboard.press("Tab")
    visitor.page.keyboard.press("Enter")

    assert visitor.page.evaluate("document.activeElement.id") == "main"


def test_asking_for_a_packet_shows_its_run(visitor_at, roof, office):
    visitor = visitor_at(user=office)
    visitor.open(f"/roofs/{roof.uuid}/")

    visitor.page.get_by_role("button", name="Make the claim packet").click()

    expect(visitor.page.get_by_text("Waiting for its turn")).to_be_visible()
    expect(visitor.page.get_by_role("link", name="Look again")).to_be_visible()
    assert visitor.complaints == []


def test_a_roof_reads_at_four_times_the_size(visitor_at, roof, office):
    # WCAG 2.2, 1.4.10: at 320 CSS pixels nothing but drawings and tables scrolls.
    visitor = visitor_at((320, 568), user=office)
    visitor.open(f"/roofs/{roof.uuid}/")

    assert not visitor.is_wider_than_the_window()


@SIZES
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_page(visitor_at, roof, office, size, scheme):
    visitor = visitor_at(size, scheme=scheme)
    visitor.open("/sign-in")
    faults = faults_on(visitor)
    visitor = visitor_at(size, scheme=scheme, user=office)
    for path in ("/roofs/", "/roofs/none/", f"/roofs/{roof.uuid}/"):
        visitor.open(path)
        faults += faults_on(visitor)
    visitor.page.get_by_role("button", name="Make the claim packet").click()
    faults += faults_on(visitor)

    assert faults == []


def test_axe_would_have_found_a_field_without_its_label(visitor_at, roof, office):
    visitor = visitor_at(user=office)
    visitor.open("/roofs/")
    visitor.page.evaluate("document.querySelector('label[for=id_q]').remove()")

    assert "label" in " ".join(faults_on(visitor))


def faults_on(visitor: Visitor) -> list[str]:
    """Return what axe says of the page with everything unfolded, and its width."""
    for summary in visitor.page.locator("summary").all():
        summary.click()
    found = Axe().run(visitor.page)
    where = visitor.page.url
    faults = [f"{where}: {each['id']}" for each in found.response["violations"]]
    if visitor.is_wider_than_the_window():
        faults.append(f"{where}: wider than the window")
    return faults
