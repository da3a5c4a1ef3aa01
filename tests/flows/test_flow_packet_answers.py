"""A reader with only the packet answers what matters, and the answers are the records'.

The claims are those of the sample workbook: in force, in grace, in a gap, ended.
"""

from __future__ import annotations

import hashlib
import io
import re
from pathlib import Path

import pypdf
import pytest
from django.db import transaction
from django.utils import timezone

from fleet import store
from fleet.actions.users import register_user
from fleet.selectors.film import coat_verdicts
from fleet.selectors.records import roof_records
from jobs import packets, relay
from jobs.models import RunState
from jobs.tasks import surroundings
from warranty.actions.importing import commit_workbook
from warranty.documents.packet import claim_packet_pdf
from warranty.models import Claim, Document
from warranty.selectors.claims import claim_standings
from warranty.selectors.packet.facts import packet_facts

SAMPLES = Path(__file__).parent.parent / "samples"
CLAIMS = ("C0001", "C0002", "C0003", "C0010", "C0023")

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.slow,
    pytest.mark.usefixtures("signing_key"),
]


@pytest.fixture(scope="module")
def workbook(django_db_setup, django_db_blocker):
    """The sample workbook, brought in once for all tests here, then taken back."""
    with django_db_blocker.unblock(), transaction.atomic():
        commit_workbook(SAMPLES, by=register_user(), now=timezone.now())
        yield
        transaction.set_rollback(True)


def packet_of(claim: Claim) -> tuple[Document, str]:
    """Ask for a packet, let the runner render it, and read it as a person would."""
    run = packets.request_packet(claim=claim, by=register_user(), now=timezone.now())
    relay.sweep(surroundings())
    run.refresh_from_db()
    assert run.state == RunState.DONE, run.last_error
    document = Document.objects.get(uuid=run.result["packet"])
    reader = pypdf.PdfReader(io.BytesIO(store.fetch(document.sha256)))
    words = " ".join(page.extract_text() for page in reader.pages)
    return document, re.sub(r"\s+", " ", words)


def in_words(day) -> str:
    return f"{day.day} {day:%B %Y}"


@pytest.mark.parametrize("ref", CLAIMS)
def test_the_packet_answers_as_the_records_do(workbook, ref):
    claim = Claim.objects.get(ref=ref)
    now = timezone.now()
    [expected] = claim_standings(Claim.objects.filter(pk=claim.pk), known_at=now)
    records = roof_records([claim.roof_id], known_at=now)[claim.roof_id]

    document, words = packet_of(claim)

    # Standing on the day of loss, and why.
    facts = packet_facts(claim.pk, packet_id=document.uuid, known_at=document.known_at)
    assert facts is not None
    assert expected.standing is not None
    assert facts.standing.word == expected.standing.value
    assert expected.standing.value.lower().replace("_", " ") in words.lower()
    for clause in facts.standing.clauses:
        assert clause.title in words
    # Due date missed or kept.
    last_due = facts.due_dates[-1] if facts.due_dates else None
    if last_due is not None:
        assert in_words(last_due.due_on) in words or f"{last_due.due_on}" in words
    # Lots.
    for log in records.coat_logs:
        assert log.lot in words
    # Lowest spot and its limit.
    for coat in coat_verdicts(records, as_of=claim.noticed_on):
        lowest = coat.judged.lowest_spot
        assert lowest is not None
        assert f"{lowest.mean_mil:.1f} mil" in words
        assert f"{coat.judged.limits.spot_low_mil:.1f} mil" in words
    # Climate margin.
    margins = [each.margin_c for each in facts.climate if each.margin_c is not None]
    assert f"{min(margins):.1f}" in words
    # Last inspection, what was found, who recorded it and when.
    before = [
        visit
        for visit in records.visits
        if visit.kind in {"INSPECTION", "REINSTATEMENT"}
        and visit.happened_on <= claim.noticed_on
    ]
    if before:
        last = before[-1]
        assert last.ref in words
        assert last.technician.name in words
        for finding in records.findings_of(last):
            if finding.note:
                assert finding.note.body in words
        assert f"{last.recorded_at:%Y-%m-%d %H:%M}" in words
    # The chain behind it.
    assert facts.ledger.head_hash in words.replace(" ", "")


def test_rendered_again_later_the_pages_are_the_same_bytes(workbook):
    claim = Claim.objects.get(ref="C0003")
    document, _ = packet_of(claim)

    # What the first packet wrote into the ledger since is not in its own facts.
    facts = packet_facts(claim.pk, packet_id=document.uuid, known_at=document.known_at)

    assert facts is not None
    body = claim_packet_pdf(facts)
    assert hashlib.sha256(body).hexdigest() == document.body_sha256
    assert store.fetch(document.sha256).startswith(body)


def test_asked_twice_with_nothing_new_it_is_one_packet(workbook):
    claim = Claim.objects.get(ref="C0003")

    first, _ = packet_of(claim)
    # What the packet itself wrote into the ledger is nothing new.
    second, _ = packet_of(claim)

    assert first.pk == second.pk
    assert Document.objects.filter(claim=claim).count() == 1
