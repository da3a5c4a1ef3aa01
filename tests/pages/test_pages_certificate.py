"""Certificates: issued by the office, confirmed to anybody without a name."""

from __future__ import annotations

import hashlib
import re
from datetime import timedelta

import pytest

from fleet.actions.coaches import hand_over
from fleet.models import LedgerEntry
from fleet.selectors.verification import verify_ledgers
from jobs import relay
from jobs.models import Run
from jobs.registry import HANDLERS
from tests import builders
from warranty.actions.editions import publish_edition
from warranty.models import Document

NUMBER = re.compile(r"[0-9A-HJKMNP-TV-Z]{5}(-[0-9A-HJKMNP-TV-Z]{5}){3}")


@pytest.fixture
def roof(world):
    """A fleet's roof under an edition that says what the law asks."""
    draft = builders.make_draft(owner_kind="rental_fleet")
    edition = publish_edition(edition=draft, version=1, now=builders.RECORDED)
    coach = builders.make_coach(
        owner=world.fleet,
        unit_no="HL-7002",
        described=builders.make_description(vin="1z9es8848dbr07002"),
    )
    return builders.make_promised_roof(coach=coach, edition=edition)


def ask(client, roof):
    return client.post(f"/roofs/{roof.uuid}/certificate")


def work_off() -> None:
    around = relay.Surroundings(
        handlers=HANDLERS, clock=lambda: builders.NOON, jitter=lambda: 0.0
    )
    while run := relay.claim(now=builders.NOON):
        relay.attempt(run, around)


def issued(world, roof) -> Document:
    ask(world.office, roof)
    work_off()
    return Document.objects.get(certificate__roof=roof)


@pytest.mark.slow
def test_the_office_issues_one_and_its_run_leads_to_it(world, roof):
    where = ask(world.office, roof).headers["Location"]

    work_off()

    document = Document.objects.get()
    assert f"/certificates/{document.uuid}.pdf" in world.office.get(where).text
    assert NUMBER.fullmatch(document.certificate.number)


def test_nobody_else_issues_one(world, roof):
    assert ask(world.manager, roof).status_code == 403
    assert ask(world.technician, roof).status_code == 403
    assert ask(world.stranger, roof).status_code == 404
    assert not Run.objects.exists()


def test_an_edition_that_leaves_out_what_the_law_asks_certifies_nothing(world):
    refused = ask(world.office, world.fleet_roof)

    assert refused.status_code == 409
    assert "16 CFR 701.3(a)(2)" in refused.text


@pytest.mark.slow
def test_a_reprint_is_the_same_bytes(world, roof):
    document = issued(world, roof)
    again = ask(world.office, roof)

    prints = {
        world.manager.get(f"/certificates/{document.uuid}.pdf").content
        for _ in range(2)
    }

    assert Run.objects.count() == 1
    assert again.status_code == 302
    assert {hashlib.sha256(each).hexdigest() for each in prints} == {document.sha256}


@pytest.mark.slow
def test_it_stands_in_the_ledger_and_the_ledger_verifies(world, roof):
    issued(world, roof)

    kinds = LedgerEntry.objects.filter(roof=roof).values_list("kind", flat=True)

    assert list(kinds)[-2:] == ["certificate", "document"]
    assert verify_ledgers().faults == []


@pytest.mark.slow
def test_a_later_holder_does_not_see_the_former_ones(world, roof):
    document = issued(world, roof)
    other = builders.make_owner(kind="rental_fleet")
    buyer = type(world.manager)()
    buyer.force_login(builders.make_manager(other))

    hand_over(
        coach=roof.coach,
        owner=other,
        from_on=builders.TODAY,
        by=builders.office(),
        now=builders.NOON,
    )

    where = f"/certificates/{document.uuid}.pdf"
    assert buyer.get(where).status_code == 404
    assert world.manager.get(where).status_code == 200
    assert world.stranger.get(where).status_code == 404


@pytest.mark.slow
def test_the_roofs_page_lists_it_and_offers_another_to_the_office_alone(world, roof):
    document = issued(world, roof)
    where = f"/roofs/{roof.uuid}/"

    office, manager = world.office.get(where).text, world.manager.get(where).text

    for shown in (office, manager):
        assert f"/certificates/{document.uuid}.pdf" in shown
    assert "Issue a certificate" in office
    assert "Issue a certificate" not in manager


@pytest.mark.slow
class TestThePublicPage:
    def test_confirms_number_standing_and_edition_without_a_login(self, world, roof):
        certificate = issued(world, roof).certificate

        shown = world.nobody.get(f"/certificate/{certificate.number}")

        assert shown.status_code == 200
        for word in (certificate.number, "In force", certificate.edition.code):
            assert word in shown.text

    def test_shows_no_personal_data(self, world, roof):
        number = issued(world, roof).certificate.number

        shown = world.office.get(f"/certificate/{number}").text.casefold()

        for told in (world.fleet.name, "HL-7002", "1z9es8848dbr07002", "Tern"):
            assert told.casefold() not in shown

    def test_shared_caches_may_keep_it_and_learn_nothing_of_who_asked(
        self, world, roof
    ):
        number = issued(world, roof).certificate.number

        answer = world.office.get(f"/certificate/{number}")

        assert answer.headers["Cache-Control"] == "public, max-age=300"
        assert "Cookie" not in answer.headers.get("Vary", "")
        assert not answer.cookies

    def test_tells_of_the_day_it_is_asked(self, world, roof, monkeypatch):
        number = issued(world, roof).certificate.number
        later = builders.NOON + timedelta(days=700)
        monkeypatch.setattr("django.utils.timezone.now", lambda: later)

        assert "Ended" in world.nobody.get(f"/certificate/{number}").text


@pytest.mark.parametrize("number", ["00000-00000-00000-00000", "x", "%00", "🛶"])
def test_an_unknown_number_is_told_so(world, number):
    answer = world.nobody.get(f"/certificate/{number}")

    assert answer.status_code == 404
    assert "No such certificate" in answer.text
