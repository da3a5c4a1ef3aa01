"""An inspection, and the repair that cures what it found, with and without a signal."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from fleet.actions.met_coaches import match_met_coach
from fleet.models import (
    Check,
    ClimateReading,
    Cure,
    Exhibit,
    FieldOperation,
    FilmReading,
    Finding,
    Visit,
)
from fleet.selectors.field_review import met_coaches
from fleet.selectors.records import roof_records
from tests import builders
from tests.browser.field import work
from tests.browser.field.phone import wait_for_shell

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def find_a_split(page: Page, folder) -> None:
    work.write_down(page, "Finding or holiday")
    page.get_by_text("Serious", exact=True).click()
    page.get_by_text("flashing split", exact=True).click()
    page.locator("svg.plan").click(position={"x": 60, "y": 30})
    page.get_by_text("front vent", exact=True).last.click()
    page.get_by_label("What you see").fill("open for an inch")
    page.get_by_role("button", name="Keep the finding").click()
    page.get_by_role("link", name="Take a photo").click()
    page.locator("#camera").set_input_files(work.picture(folder, 3))
    expect(page.locator(".photos li")).to_have_count(1)
    work.back(page)
    work.back(page)


def end_with(page: Page, result: str = "") -> None:
    page.get_by_role("link", name="End this visit").click()
    if result:
        page.get_by_text(result, exact=True).click()
    page.get_by_role("button", name="End the visit").click()
    expect(page.get_by_role("heading", name="Your work")).to_be_visible()


def test_a_repair_cures_what_an_inspection_of_the_same_day_found(
    phone_of, field_server, booked, code, roof, tmp_path
):
    booked("INSPECTION")
    booked("REPAIR")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    wait_for_shell(page)
    field_server.stop()
    work.begin(page, "Inspection")
    find_a_split(page, tmp_path)
    end_with(page, "Failed")
    work.begin(page, "Repair")
    page.get_by_role("link", name="What this cures", exact=True).click()
    page.get_by_role("button", name="Cured now").click()
    expect(page.get_by_text("Cured at this visit")).to_be_visible()
    work.back(page)
    end_with(page)

    field_server.start()
    page.evaluate("dispatchEvent(new Event('online'))")

    expect(page.get_by_text("received in full")).to_have_count(2, timeout=60_000)
    assert set(FieldOperation.objects.values_list("state", flat=True)) == {"APPLIED"}
    found = Finding.objects.get(roof=roof)
    assert (found.severity, found.cause) == ("SERIOUS", "detail")
    assert found.penetration_label == "front vent"
    assert Cure.objects.get(roof=roof).finding == found
    assert Exhibit.objects.get(roof=roof).finding == found
    results = Visit.objects.filter(roof=roof, supersedes__isnull=False)
    assert set(results.values_list("kind", "result")) == {
        ("INSPECTION", "FAIL"),
        ("REPAIR", "NONE"),
    }
    assert phone.complaints == []


def test_a_no_and_what_was_seen_travel_with_the_answer(
    phone_of, field_server, booked, code, roof
):
    booked("LEAK_CALL")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    work.begin(page, "Leak call")
    work.open_stage(page, "Is it the roof?")
    question = page.locator(".question").first
    question.get_by_role("button", name="No", exact=True).click()
    page.get_by_label("What did you see?").fill("marker light drips")
    question.get_by_role("button", name="Keep").click()
    expect(page.get_by_label("What did you see?")).to_have_value("marker light drips")
    expect(page.locator("#strip")).to_contain_text("All sent")

    answers = Check.objects.filter(roof=roof, step="not-roof.windows").order_by("pk")

    assert [row.answer for row in answers] == ["NO", "NO"]
    assert answers[1].supersedes == answers[0].uuid
    assert str(answers[1].note) == "marker light drips"
    assert phone.complaints == []


def test_a_dry_gauge_is_read_as_measured(phone_of, field_server, booked, code, roof):
    booked("INSPECTION")
    booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    work.begin(page, "Installation")
    end_with(page)
    expect(page.get_by_text("received in full")).to_be_visible(timeout=60_000)
    work.begin(page, "Inspection")
    page.get_by_role("link", name="Film", exact=True).click()
    page.get_by_role("link", name="finish coat", exact=True).click()
    for shot, mil in enumerate(("13.5", "14", "13.9"), 1):
        # As a person does: look which shot is asked for, then type.
        expect(page.get_by_text(f"shot {shot} of 3")).to_be_visible()
        page.get_by_label("Dry film, mil").fill(mil)
        page.locator(".pad").get_by_role("button", name="Keep").click()
        expect(page.get_by_label("Dry film, mil")).to_have_value("")

    expect(page.get_by_text("Spot 13.8 mil dry, measured.")).to_be_visible()
    work.back(page)
    expect(page.locator("#strip")).to_contain_text("All sent")
    read = FilmReading.objects.filter(roof=roof).order_by("shot_no")
    assert [str(row.dry_value) for row in read] == ["13.5000", "14.0000", "13.9000"]
    assert {row.method for row in read} == {"CUT_FILM"}
    assert phone.complaints == []


def at_the_dry_pad(phone, page: Page, code: str) -> None:
    """Lay a roof, then stand at the finish coat's gauge of an inspection."""
    phone.pair(page, code)
    work.begin(page, "Installation")
    end_with(page)
    expect(page.get_by_text("received in full")).to_be_visible(timeout=60_000)
    work.begin(page, "Inspection")
    page.get_by_role("link", name="Film", exact=True).click()
    page.get_by_role("link", name="finish coat", exact=True).click()
    expect(page.get_by_text("shot 1 of 3")).to_be_visible()


def read_so_far(roof) -> list[tuple[int, int, str]]:
    rows = FilmReading.objects.filter(roof=roof).order_by("spot_no", "shot_no")
    return [(row.spot_no, row.shot_no, f"{row.dry_value:.1f}") for row in rows]


def test_numbers_typed_without_waiting_are_all_kept_in_their_order(
    phone_of, field_server, booked, code, roof
):
    booked("INSPECTION")
    booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    at_the_dry_pad(phone, page, code)
    # As slow as an old phone: a view drawn anew takes longer than a number.
    page.context.new_cdp_session(page).send(
        "Emulation.setCPUThrottlingRate", {"rate": 6}
    )
    values = [f"13.{tenth}" for tenth in range(1, 8)]

    page.get_by_label("Dry film, mil").focus()
    page.keyboard.type("".join(f"{value}\n" for value in values) + "14.2")

    expect(page.get_by_text("spot 3 · shot 2 of 3")).to_be_visible()
    expect(page.get_by_label("Dry film, mil")).to_have_value("14.2")
    work.back(page)
    expect(page.locator("#strip")).to_contain_text("All sent")
    places = [(index // 3 + 1, index % 3 + 1) for index in range(len(values))]
    assert read_so_far(roof) == [
        (*place, value) for place, value in zip(places, values, strict=True)
    ]
    assert phone.complaints == []


def test_a_number_that_is_not_kept_comes_back(
    phone_of, field_server, booked, code, roof
):
    booked("INSPECTION")
    booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    at_the_dry_pad(phone, page, code)
    page.evaluate(
        """() => {
            const put = IDBObjectStore.prototype.put;
            IDBObjectStore.prototype.put = function (...given) {
                if (String(given[1]).startsWith("film/") && window.full !== false)
                    throw new DOMException("full", "QuotaExceededError");
                return put.apply(this, given);
            };
        }"""
    )

    page.get_by_label("Dry film, mil").focus()
    page.keyboard.type("13.5\n")

    expect(page.get_by_text("13.5 was not kept")).to_be_visible()
    expect(page.get_by_label("Dry film, mil")).to_have_value("13.5")
    page.evaluate("window.full = false")
    page.keyboard.press("Enter")
    expect(page.get_by_text("shot 2 of 3")).to_be_visible()
    work.back(page)
    expect(page.locator("#strip")).to_contain_text("All sent")
    assert read_so_far(roof) == [(1, 1, "13.5")]


def test_a_hold_point_waits_or_is_passed_over_with_a_reason(
    phone_of, field_server, booked, code, roof
):
    booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    work.begin(page, "Installation")
    page.get_by_role("list").get_by_role("link", name="Strip").click()
    expect(page.get_by_text("Waits for the hold point")).to_be_visible()
    page.locator("a.main-key").click()
    page.get_by_role("button", name="I have read this").click()
    expect(page.get_by_text("a climate reading of today within limits")).to_be_visible()
    page.locator("summary", has_text="Go on without it").click()
    page.get_by_label("Why do you go on without it?").fill("gauge broken")
    page.locator(".hold form button").click()

    expect(page.get_by_text("gauge broken")).to_be_visible()
    work.back(page)
    work.open_stage(page, "Strip")
    expect(page.get_by_role("heading", name="Questions")).to_be_visible()
    expect(page.locator("#strip")).to_contain_text("All sent")
    held = Check.objects.get(roof=roof, step="hold.safe")
    assert (held.answer, str(held.note)) == ("NO", "gauge broken")
    assert phone.complaints == []


def test_a_leak_call_that_nobody_booked_finds_its_coach_later(
    phone_of, field_server, code, roof, tmp_path
):
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    wait_for_shell(page)
    field_server.stop()
    page.get_by_role("link", name="A visit nobody booked").click()
    page.get_by_label("Coach no. or VIN").fill("HL-7001")
    page.get_by_role("button", name="Begin the visit").click()
    expect(page.get_by_role("heading", name="Stages")).to_be_visible()
    work.write_down(page, "Finding or holiday")
    page.get_by_text("Serious", exact=True).click()
    page.get_by_text("flashing split", exact=True).click()
    page.get_by_role("button", name="Keep the finding").click()
    page.get_by_role("link", name="Take a photo").click()
    page.locator("#camera").set_input_files(work.picture(tmp_path, 3))
    expect(page.locator(".photos li")).to_have_count(1)
    work.back(page)
    work.back(page)
    end_with(page)
    field_server.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.get_by_text("received in full")).to_be_visible(timeout=60_000)
    [met] = met_coaches()
    assert met.coach_told == "HL-7001"

    match_met_coach(
        told_roof=met.told_roof, roof=roof, by=builders.office(), now=timezone.now()
    )

    assert set(FieldOperation.objects.values_list("state", flat=True)) == {"APPLIED"}
    assert Exhibit.objects.get(roof=roof).finding == Finding.objects.get(roof=roof)
    assert Visit.objects.filter(roof=roof, kind="LEAK_CALL").count() == 2
    assert phone.complaints == []


def put_right(page: Page, key: str, line: str) -> None:
    """Open the keys beside a kept record and press one."""
    kept = page.locator("li", has=page.locator("details.change")).filter(has_text=line)
    kept.locator("summary").click()
    kept.get_by_role("button", name=key, exact=True).click()


def test_what_was_kept_is_corrected_or_struck_on_the_phone(
    phone_of, field_server, booked, code, roof
):
    booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    field_server.stop()
    work.begin(page, "Installation")
    work.climate(page, coat="base coat")
    work.climate(page, coat="base coat", air="27")
    work.lot(page, coat="base coat", name="L-17", gallons="5")
    work.write_down(page, "Climate")
    put_right(page, "Strike it", "27 / 84")
    expect(page.locator(".plain li")).to_have_count(1)
    put_right(page, "Correct it", "72 / 84")
    expect(page.get_by_text("takes the place of a record")).to_be_visible()
    page.get_by_label("Humidity, %").fill("51")
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_text("51 %")).to_be_visible()
    expect(page.locator(".plain li")).to_have_count(1)
    work.back(page)
    work.write_down(page, "Lots and volumes")
    put_right(page, "Correct it", "L-17")
    page.get_by_label("Lot on the label").fill("L-71")
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.locator(".plain li")).to_have_count(1)
    work.back(page)
    work.write_down(page, "Finding or holiday")
    page.get_by_text("Minor", exact=True).click()
    page.get_by_text("holiday", exact=True).click()
    page.get_by_role("button", name="Keep the finding").click()
    put_right(page, "Correct it", "holiday")
    page.get_by_text("Serious", exact=True).click()
    page.get_by_role("button", name="Keep the finding").click()
    expect(page.locator(".cards li")).to_have_count(1)
    expect(page.locator(".cards li")).to_contain_text("Serious")
    put_right(page, "Strike it", "holiday")
    expect(page.locator(".cards li")).to_have_count(0)
    work.back(page)

    field_server.start()
    page.evaluate("dispatchEvent(new Event('online'))")

    expect(page.locator("#strip")).to_contain_text("All sent", timeout=60_000)
    counted = roof_records([roof.pk], known_at=timezone.now())[roof.pk]
    assert [(row.air, row.rh_ratio) for row in counted.climate] == [
        (72, Decimal("0.51"))
    ]
    first = ClimateReading.objects.filter(supersedes=None).earliest("pk")
    assert counted.climate[0].taken_at == first.taken_at
    assert [row.lot for row in counted.coat_logs] == ["L-71"]
    assert counted.findings == []
    assert counted.disputed == []
    assert phone.complaints == []
