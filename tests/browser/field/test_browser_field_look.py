"""Readable at noon, hit with a wet glove, open to everybody, in both languages."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.field import work
from tests.browser.field.look import (
    is_wider_than_the_phone,
    poor_contrasts,
    small_targets,
)
from tests.browser.field.phone import wait_for_shell

pytestmark = [pytest.mark.browser, pytest.mark.slow]
TOOLS = (
    "climate",
    "coats",
    "film/base",
    "finding",
    "photos",
    "seals",
    "deck",
    "patch",
    "cures",
    "recoat",
    "end",
)
STAGES = ("stage/safe", "stage/strip")


@pytest.mark.parametrize("language", ["en-US", "es-MX"])
def test_every_view_is_readable_tappable_and_accessible(
    phone_of, booked, code, language
):
    booked("INSTALLATION")
    booked("LEAK_CALL")
    phone = phone_of(language=language)
    page = phone.start()
    phone.open(page)
    assert page.evaluate("document.documentElement.lang") == language[:2]
    faults = looked_at(page, "pair")
    pair_in(page, code, is_spanish=language == "es-MX")
    wait_for_shell(page)
    faults += looked_at(page, "work")
    page.locator(".card").first.click()
    faults += looked_at(page, "roof")
    page.locator(".bar a").click()
    faults += looked_at(page, "begin")
    page.locator(".pick").first.click()
    page.locator("fieldset").nth(1).locator(".pick").first.click()
    page.locator("form button").click()
    expect(page.locator(".stages")).to_be_visible()
    faults += looked_at(page, "visit")
    visit = page.url.split("#")[1]
    for path in (*STAGES, *TOOLS):
        page.evaluate(f"location.hash = '#{visit}/{path}'")
        expect(page.locator(f'main a.up[href="#{visit}"]')).to_be_visible()
        faults += looked_at(page, path)
    page.evaluate("location.hash = '#/phone'")
    expect(page.locator("fieldset")).to_have_count(2)
    faults += looked_at(page, "phone")

    assert faults == []
    assert phone.complaints == []
    assert phone.network_errors == []


def pair_in(page: Page, code: str, *, is_spanish: bool) -> None:
    page.locator("input[name=code]").fill(code)
    page.locator("input[name=device_name]").fill("Grey phone")
    page.get_by_role("button", name="Vincular" if is_spanish else "Pair").click()
    title = "Su trabajo" if is_spanish else "Your work"
    expect(page.get_by_role("heading", name=title)).to_be_visible()
    expect(page.locator(".card").first).to_be_visible()


def looked_at(page: Page, name: str) -> list[str]:
    """Return what is wrong with what is on the phone now."""
    faults = [f"{name}: contrast of {one}" for one in poor_contrasts(page)]
    faults += [f"{name}: size of {one}" for one in small_targets(page)]
    if is_wider_than_the_phone(page):
        faults.append(f"{name}: wider than the phone")
    # A key without words shows up as a key of the message table.
    raw = re.findall(r"\b[a-z]+\.[a-z][\w-]+", page.locator("body").inner_text())
    faults += [f"{name}: no words for {one}" for one in raw]
    found = Axe().run(page).response["violations"]
    return faults + [f"{name}: {one['id']} {one['nodes'][0]['html']}" for one in found]


def test_the_words_change_with_the_switch_and_stay(phone_of, booked, code):
    booked("INSPECTION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    page.locator("#strip a").click()
    page.get_by_text("Español", exact=True).click()
    expect(page.get_by_role("heading", name="Este teléfono")).to_be_visible()
    page.get_by_text("°C, µm, m", exact=True).click()

    page.reload()

    expect(page.get_by_role("heading", name="Este teléfono")).to_be_visible()
    assert page.evaluate("document.documentElement.lang") == "es"
    page.get_by_role("link", name="Atrás").click()
    page.locator(".card").first.click()
    expect(page.get_by_text(re.compile(r"10\.06 m . 2\.44 m"))).to_be_visible()
    assert phone.complaints == []


def test_a_keyboard_alone_reads_a_spot(phone_of, booked, code):
    booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    work.begin(page, "Installation")
    page.get_by_role("link", name="Film", exact=True).click()

    page.locator(".teeth button", has_text="28").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".pad-head strong")).to_have_text("First dry tooth")
    page.locator(".teeth button", has_text="30").focus()
    page.keyboard.press("Enter")

    expect(page.get_by_text("Spot so far 14 mil dry, estimated.")).to_be_visible()
    assert page.evaluate("document.activeElement.textContent") == "30"
    assert phone.complaints == []
