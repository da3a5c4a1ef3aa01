from __future__ import annotations

import hashlib

import pytest

from jobs import relay
from jobs.models import Run
from jobs.registry import HANDLERS
from tests import builders
from warranty.models import Document


@pytest.fixture
def claim(world):
    return builders.make_claim(world.fleet_roof)


def ask(client, claim):
    return client.post(f"/claims/{claim.uuid}/packet")


def test_asking_leads_to_the_run_that_makes_the_packet(world, claim):
    response = ask(world.office, claim)

    run = Run.objects.get()
    assert response.headers["Location"] == f"/runs/{run.uuid}/"
    assert run.kind == "claim_packet"


def test_asking_needs_a_form_not_a_link(world, claim):
    assert world.office.get(f"/claims/{claim.uuid}/packet").status_code == 405


def test_a_form_without_its_token_is_refused_with_a_page(world, claim, settings):
    strict = type(world.office)(enforce_csrf_checks=True)
    strict.force_login(builders.office())

    response = strict.post(f"/claims/{claim.uuid}/packet")

    assert response.status_code == 403
    assert "nothing was changed" in response.text
    assert not Run.objects.exists()


def test_a_strangers_request_finds_no_claim(world, claim):
    assert ask(world.stranger, claim).status_code == 404
    assert not Run.objects.exists()


def test_a_waiting_run_says_so_and_can_be_looked_at_again(world, claim):
    where = ask(world.office, claim).headers["Location"]

    shown = world.office.get(where)

    assert "Waiting for its turn" in shown.text
    assert f'<a href="{where}">Look again</a>' in shown.text
    assert 'hx-trigger="every 2s"' in shown.text


def test_htmx_is_given_the_progress_alone(world, claim):
    where = ask(world.office, claim).headers["Location"]

    shown = world.office.get(where, headers={"HX-Request": "true"})

    assert shown.text.startswith('<div id="progress"')


def test_a_stranger_finds_no_run(world, claim):
    where = ask(world.office, claim).headers["Location"]

    assert world.stranger.get(where).status_code == 404


def work_off() -> None:
    """Do what waits, in this process, at noon."""
    around = relay.Surroundings(
        handlers=HANDLERS, clock=lambda: builders.NOON, jitter=lambda: 0.0
    )
    while run := relay.claim(now=builders.NOON):
        relay.attempt(run, around)


@pytest.mark.slow
@pytest.mark.usefixtures("signing_key")
def test_a_finished_run_leads_to_the_packet_and_the_roof_lists_it(world, claim):
    where = ask(world.office, claim).headers["Location"]

    work_off()

    packet = f"/packets/{Document.objects.get().uuid}.pdf"
    assert packet in world.office.get(where).text
    assert packet in world.office.get(f"/roofs/{claim.roof.uuid}/").text


@pytest.mark.slow
@pytest.mark.usefixtures("signing_key")
def test_the_packet_is_sent_byte_for_byte_to_those_who_may(world, claim):
    ask(world.office, claim)
    work_off()
    document = Document.objects.get()
    where = f"/packets/{document.uuid}.pdf"

    answer = world.manager.get(where)

    assert answer.headers["Content-Type"] == "application/pdf"
    assert hashlib.sha256(answer.content).hexdigest() == document.sha256
    assert world.stranger.get(where).status_code == 404
    assert world.nobody.get(where).status_code == 302


def test_a_packet_whose_file_is_gone_says_what_to_do(world, claim):
    packet = Document.objects.create(
        claim=claim,
        sha256="0" * 64,
        size_bytes=1,
        known_at=builders.NOON,
        rendered_at=builders.NOON,
    )

    answer = world.office.get(f"/packets/{packet.uuid}.pdf")

    assert answer.status_code == 404
    assert "Restore it from a backup" in answer.text


def test_a_failed_run_stops_asking(world, claim):
    where = ask(world.office, claim).headers["Location"]
    Run.objects.update(
        state="DEAD", finished_at=builders.NOON, last_error="the disk is full"
    )

    shown = world.office.get(where)

    assert "Set aside" in shown.text
    assert "hx-trigger" not in shown.text
