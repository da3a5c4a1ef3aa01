"""A whole installation without a signal: every reading arrives, once."""

from __future__ import annotations

from collections import Counter
from hashlib import sha256

import pytest
from django.db.models import Count
from django.utils import timezone
from playwright.sync_api import Page, expect

from fleet.models import (
    Booking,
    BookingState,
    ClimateReading,
    CoatLog,
    Exhibit,
    FieldOperation,
    FieldPhoto,
    FilmReading,
    Installation,
    LedgerEntry,
    Penetration,
    Visit,
)
from fleet.selectors.film import coat_verdicts
from fleet.selectors.records import roof_records
from tests.browser.field import work
from tests.browser.field.conftest import SEALS
from tests.browser.field.phone import wait_for_shell
from tests.browser.field.server import FieldServer

pytestmark = [pytest.mark.browser, pytest.mark.slow]

# Fifteen spots of three: what the rule asks of a roof of 264 square feet. The lowest
# gives 13 mil dry, the highest 15: each spot and area within 12.5 to 18.
BASE_WET = [28, 26, 30] * 15
FINISH_WET = [30, 28, 28] * 15
PHOTOS = 20


def test_an_installation_captured_without_a_signal_arrives_once(
    phone_of, field_server, booked, code, roof, tmp_path, record_property
):
    booking = booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    wait_for_shell(page)
    field_server.stop()
    page.reload()

    work.begin(page, "Installation")
    work.make_safe(page)
    work.lot(page, coat="base coat", name="B-2201", gallons="4.5")
    work.lot(page, coat="finish coat", name="F-0117", gallons="4.5")
    work.film(page, coat="base coat", wet=BASE_WET)
    expect(page.locator("#strip")).to_contain_text("records")
    work.detail_every_seal(page, len(SEALS))
    phone.wait_until_it_stays_paired()
    phone.kill()

    page = phone.start()
    phone.open(page)
    page.get_by_role("link", name="HL-7001 Installation").click()
    work.film(page, coat="finish coat", wet=FINISH_WET)
    sent = take_photos(page, tmp_path)
    expect(page.locator("#strip")).to_contain_text(f"{PHOTOS} photos")
    end(page)

    field_server.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#strip")).to_contain_text("All sent", timeout=120_000)
    assert_captured_once(roof, sent, booking)
    tell_the_cost(field_server, record_property)
    expect(page.get_by_text("received in full")).to_be_visible()
    assert phone.complaints == []


def tell_the_cost(server: FieldServer, record_property) -> None:
    """Note what the sync took: one batch, a request a photo, the list of work."""
    cost = {
        "requests": len(server.answered),
        "bytes": sum(one.received_bytes for one in server.answered),
        "server_ms": round(sum(one.server_ms for one in server.answered)),
    }
    record_property("sync", cost)
    print(cost)  # noqa: T201 - the figure itself, shown with -s
    # Two batches at most, each photo once and the signature, the list now and then.
    assert cost["requests"] <= 2 + PHOTOS + 1 + 5


def take_photos(page: Page, folder) -> list[str]:
    work.write_down(page, "Photos")
    hashes = []
    for number in range(PHOTOS):
        path = work.picture(folder, number)
        hashes.append(sha256(path.read_bytes()).hexdigest())
        label = SEALS[number % len(SEALS)][0]
        work.photo(page, path, of=label, after=number >= PHOTOS // 2)
    work.back(page)
    return hashes


def end(page: Page) -> None:
    page.get_by_role("link", name="End this visit").click()
    page.get_by_label("Name of who signs").fill("Invented Owner")
    work.draw_signature(page)
    page.get_by_role("button", name="Keep the signature").click()
    expect(page.get_by_text("Signed by Invented Owner")).to_be_visible()
    page.get_by_label("The roof is complete today").check()
    page.get_by_role("button", name="End the visit").click()
    expect(page.get_by_role("heading", name="Your work")).to_be_visible()


def assert_captured_once(roof, sent: list[str], booking: Booking) -> None:
    """The server holds what was captured, each once, and nothing waits or is aside."""
    assert set(FieldOperation.objects.values_list("state", flat=True)) == {"APPLIED"}
    assert not FieldOperation.objects.exclude(flags=[]).exists()
    read = FilmReading.objects.filter(roof=roof)
    assert Counter(read.values_list("coat", flat=True)) == {"base": 45, "finish": 45}
    for coat, teeth in (("base", BASE_WET), ("finish", FINISH_WET)):
        in_order = read.filter(coat=coat).order_by("area_no", "spot_no", "shot_no")
        assert [int(row.last_wet) for row in in_order] == teeth
    places = read.values("coat", "area_no", "spot_no", "shot_no")
    assert not places.annotate(n=Count("pk")).filter(n__gt=1).exists()
    photos = Exhibit.objects.filter(roof=roof, kind="PHOTO")
    assert sorted(photos.values_list("sha256", flat=True)) == sorted(sent)
    assert FieldPhoto.objects.count() == PHOTOS + 1
    assert Exhibit.objects.filter(roof=roof, kind="SIGN_OFF").count() == 1
    assert ClimateReading.objects.filter(roof=roof).count() == 1
    lots = CoatLog.objects.filter(roof=roof).values_list("lot", flat=True)
    assert sorted(lots) == ["B-2201", "F-0117"]
    detailed = Penetration.objects.filter(roof=roof, is_detailed=True)
    assert detailed.count() == len(SEALS)
    laid = Installation.objects.filter(roof=roof, completed_on__isnull=False)
    assert laid.count() == 1
    assert Visit.objects.filter(roof=roof).count() == 2  # begun, and its end
    numbers = LedgerEntry.objects.filter(roof=roof).values_list("seq", flat=True)
    assert sorted(numbers) == list(range(1, len(numbers) + 1))
    booking.refresh_from_db()
    assert booking.state == BookingState.DONE
    roof.refresh_from_db()
    [records] = roof_records([roof.pk], known_at=timezone.now()).values()
    verdicts = coat_verdicts(records, as_of=roof.completed_on)
    assert [each.judged.verdict.value for each in verdicts] == ["MET", "MET"]
