"""Lost answers, two tabs, a revoked or full phone: nothing lost, nothing twice."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from fleet.actions.devices import make_code, revoke_device
from fleet.actions.field_queue import take_queue_file
from fleet.models import (
    Exhibit,
    FieldDevice,
    FieldOperation,
    FieldPhoto,
    FilmReading,
    Finding,
    Visit,
)
from tests import builders
from tests.browser.field import work
from tests.browser.field.phone import Phone, wait_for_shell

pytestmark = [pytest.mark.browser, pytest.mark.slow]
# Three spots of three readings.
WET = [28, 28, 30, 26, 28, 28, 30, 30, 28]


@pytest.fixture
def phone(phone_of, booked, code) -> Phone:
    booked("INSTALLATION")
    phone = phone_of()
    page = phone.start()
    phone.pair(page, code)
    wait_for_shell(page)
    return phone


@pytest.fixture
def page(phone) -> Page:
    return phone.context.pages[0]


def send_now(page: Page) -> None:
    page.evaluate("dispatchEvent(new Event('online'))")


def all_is_sent(page: Page) -> None:
    expect(page.locator("#strip")).to_contain_text("All sent", timeout=60_000)


def test_answers_lost_on_the_way_leave_one_record_each(
    phone, page, field_server, roof, tmp_path
):
    field_server.lose_answers(lossy=True)
    work.begin(page, "Installation")
    work.film(page, coat="base coat", wet=WET)
    work.write_down(page, "Photos")
    work.photo(page, work.picture(tmp_path, 1))
    work.photo(page, work.picture(tmp_path, 2))
    send_now(page)
    expect(page.locator("#strip")).to_contain_text("no answer from the office")
    assert "POST /api/field/batch" in field_server.lost
    assert FieldOperation.objects.exists()  # stored, and the phone was not told

    field_server.lose_answers(lossy=False)
    send_now(page)

    all_is_sent(page)
    assert FilmReading.objects.filter(roof=roof).count() == len(WET)
    assert Visit.objects.filter(roof=roof).count() == 1
    assert Exhibit.objects.filter(roof=roof).count() == 2
    assert FieldPhoto.objects.count() == 2
    stands = FieldOperation.objects.values_list("op_id", flat=True)
    assert len(stands) == len(set(stands))
    assert set(FieldOperation.objects.values_list("state", flat=True)) == {"APPLIED"}
    assert phone.complaints == []


def test_two_tabs_send_one_by_one_and_read_one_spot(phone, page, field_server, roof):
    field_server.stop()
    work.begin(page, "Installation")
    page.get_by_role("link", name="Film", exact=True).click()
    other = phone.new_tab()
    phone.open(other, page.url.removeprefix(phone.base))

    for tooth in (28, 30):
        work.tap(page, tooth)
        expect(page.locator(".pad-head strong")).to_contain_text(
            "First" if tooth == 28 else "Last"
        )
    other.reload()
    for tooth, asked in ((26, "First"), (28, "Last"), (28, "First"), (30, "Last")):
        work.tap(other, tooth)
        expect(other.locator(".pad-head strong")).to_contain_text(asked)
    work.back(other)
    field_server.start()
    send_now(page)
    send_now(other)

    all_is_sent(page)
    all_is_sent(other)
    read = FilmReading.objects.filter(roof=roof).order_by("shot_no")
    assert [int(row.last_wet) for row in read] == [28, 26, 28]
    assert {row.spot_no for row in read} == {1}
    assert set(FieldOperation.objects.values_list("state", flat=True)) == {"APPLIED"}
    assert phone.complaints == []


def test_a_revoked_phone_keeps_everything_until_it_is_paired_again(
    phone, page, field_server, roof, technician
):
    work.begin(page, "Installation")
    all_is_sent(page)
    device = FieldDevice.objects.get()
    revoke_device(device=device, by=technician, now=timezone.now())
    work.film(page, coat="base coat", wet=WET)
    expect(page.locator("#strip")).to_contain_text("cut off: kept here")
    assert not FilmReading.objects.filter(roof=roof).exists()

    page.locator("#strip a").click()
    page.get_by_role("link", name="Pair this phone").click()
    code = make_code(user=technician, by=technician, now=timezone.now())
    page.get_by_label("Code from the office").fill(code)
    page.get_by_label("Name of this phone").fill("Grey phone")
    page.get_by_role("button", name="Pair", exact=True).click()

    all_is_sent(page)
    assert FilmReading.objects.filter(roof=roof).count() == len(WET)
    assert phone.complaints == []


def test_another_person_neither_sends_nor_loses_what_is_on_the_phone(
    phone, page, field_server, roof, technician, phone_of
):
    field_server.stop()
    work.begin(page, "Installation")
    page.locator("#strip a").click()
    page.evaluate("location.hash = '#/pair'")
    field_server.start()
    # Before the phone notices that somebody answers again, another person pairs it.
    device = FieldDevice.objects.get()
    revoke_device(device=device, by=technician, now=timezone.now())
    other = type(technician).objects.create(username="tomas", role=technician.role)
    code = make_code(user=other, by=other, now=timezone.now())
    page.get_by_label("Code from the office").fill(code)
    page.get_by_role("button", name="Pair", exact=True).click()
    expect(page.get_by_role("heading", name="Your work")).to_be_visible()
    send_now(page)

    page.locator("#strip a").click()
    expect(page.get_by_text("Held for another person: 2.")).to_be_visible()
    assert not Visit.objects.filter(roof=roof).exists()
    assert phone.complaints == []


def test_a_full_phone_says_so_and_loses_nothing_typed(phone, page, roof):
    work.begin(page, "Installation")
    all_is_sent(page)
    work.write_down(page, "Finding or holiday")
    page.evaluate(
        """() => {
            const add = IDBObjectStore.prototype.add;
            window.room = () => { IDBObjectStore.prototype.add = add; };
            IDBObjectStore.prototype.add = function () {
                throw new DOMException("full", "QuotaExceededError");
            };
        }"""
    )
    page.get_by_text("Serious", exact=True).click()
    page.get_by_text("holiday", exact=True).click()
    page.get_by_label("What you see").fill("bare at the rear vent")
    page.get_by_role("button", name="Keep the finding").click()

    expect(page.get_by_text("the phone's storage is full")).to_be_visible()
    page.reload()
    expect(page.get_by_label("What you see")).to_have_value("bare at the rear vent")
    page.get_by_role("button", name="Keep the finding").click()
    expect(page.get_by_role("heading", name="Kept at this visit")).to_be_visible()
    all_is_sent(page)
    assert Finding.objects.filter(roof=roof, cause="holiday").count() == 1
    assert phone.complaints == []


def test_no_photo_is_taken_when_storage_is_nearly_full(phone, page, tmp_path):
    work.begin(page, "Installation")
    work.write_down(page, "Photos")
    page.evaluate(
        """() => {
            navigator.storage.estimate = async () => ({ usage: 81, quota: 100 });
        }"""
    )
    page.locator("#camera").set_input_files(work.picture(tmp_path, 1))

    expect(page.get_by_text("No new photos until")).to_be_visible()
    expect(page.locator(".photos li")).to_have_count(0)
    assert phone.complaints == []


def test_the_unsent_can_be_saved_as_a_file(phone, page, field_server, tmp_path):
    field_server.stop()
    work.begin(page, "Installation")
    work.write_down(page, "Photos")
    work.photo(page, work.picture(tmp_path, 1))
    page.locator("#strip a").click()
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save what is unsent as a file").click()

    saved = work.saved_file(saving.value, tmp_path)

    assert [op["op_id"] for op in saved["ops"]]
    assert all(work.hash_of(op["text"]) == op["sha256"] for op in saved["ops"])
    assert [work.hash_of_photo(one) for one in saved["photos"]] == [
        one["sha256"] for one in saved["photos"]
    ]
    assert len(saved["photos"]) == 1


def test_the_office_takes_in_what_a_phone_saved(phone, page, field_server, tmp_path):
    field_server.stop()
    work.begin(page, "Installation")
    work.write_down(page, "Photos")
    work.photo(page, work.picture(tmp_path, 1))
    page.locator("#strip a").click()
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save what is unsent as a file").click()
    work.saved_file(saving.value, tmp_path)

    with (tmp_path / "saved.json").open("rb") as file:
        taken = take_queue_file(
            file=file,
            size_bytes=(tmp_path / "saved.json").stat().st_size,
            by=builders.office(),
            now=timezone.now(),
        )

    assert taken.is_all_here
    assert set(FieldOperation.objects.values_list("state", flat=True)) == {"APPLIED"}
    before = FieldOperation.objects.count()
    field_server.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    all_is_sent(page)
    assert (FieldOperation.objects.count(), Exhibit.objects.count()) == (before, 1)
