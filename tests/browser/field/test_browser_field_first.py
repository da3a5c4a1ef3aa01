"""The page for the first time, again without a signal, and after it was changed."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from fleet.pages import field_shell
from tests.browser.field import work
from tests.browser.field.phone import wait_for_shell

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_the_page_and_the_work_open_again_without_a_server(
    phone_of, field_server, booked, code
):
    booked("INSPECTION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    expect(page.get_by_role("link", name="HL-7001")).to_be_visible()
    wait_for_shell(page)

    field_server.stop()
    page.reload()

    expect(page.get_by_role("link", name="HL-7001")).to_be_visible()
    page.get_by_role("link", name="HL-7001").click()
    expect(page.get_by_role("heading", name="HL-7001")).to_be_visible()
    expect(page.locator("ol").get_by_text("front vent")).to_be_visible()
    assert phone.complaints == []


def test_a_wrong_code_is_told_in_words(phone_of, field_server):
    phone = phone_of()
    page = phone.start()
    phone.open(page)
    page.get_by_label("Code from the office").fill("ZZZZ-2222")
    page.get_by_role("button", name="Pair", exact=True).click()

    expect(page.get_by_text("That code is wrong, used up or too old")).to_be_visible()
    assert phone.complaints == []


def test_what_was_typed_is_there_after_the_camera_took_the_page_away(
    phone_of, field_server, booked, code
):
    booked("INSPECTION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    work.begin(page, "Inspection")
    work.write_down(page, "Finding or holiday")
    page.get_by_text("Serious", exact=True).click()
    page.locator("svg.plan").click(position={"x": 180, "y": 40})
    page.get_by_label("What you see").press_sequentially("split at the r")

    page.reload()

    expect(page.get_by_label("What you see")).to_have_value("split at the r")
    expect(page.get_by_label("Serious")).to_be_checked()
    expect(page.get_by_text("from the front cap,")).to_be_visible()
    assert phone.complaints == []


def test_a_newer_page_is_used_when_the_person_says_so(
    phone_of, field_server, booked, code, monkeypatch
):
    booked("INSPECTION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    wait_for_shell(page)
    page.reload()
    before = page.locator("html").get_attribute("data-version")
    older = field_shell._page
    monkeypatch.setattr(field_shell, "_page", lambda v: older(v) + "<!-- newer -->")

    page.reload()
    expect(page.get_by_text("A newer version of this page is ready.")).to_be_visible()
    assert page.locator("html").get_attribute("data-version") == before
    page.get_by_role("button", name="Use it").click()

    expect(page.locator("html")).not_to_have_attribute("data-version", before or "")
    expect(page.get_by_role("link", name="HL-7001")).to_be_visible()
    assert phone.complaints == []


def test_half_a_change_never_replaces_a_whole_page(
    phone_of, field_server, booked, code, monkeypatch
):
    booked("INSPECTION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    wait_for_shell(page)
    hashes = field_shell._hashes()
    # The server names a file that it does not serve yet.
    monkeypatch.setattr(field_shell, "_hashes", lambda: hashes | {"app.js": "0" * 64})
    page.evaluate(
        "navigator.serviceWorker.ready.then((kept) => kept.update()).catch(() => 0)"
    )

    field_server.stop()
    page.reload()

    expect(page.get_by_role("link", name="HL-7001")).to_be_visible()
