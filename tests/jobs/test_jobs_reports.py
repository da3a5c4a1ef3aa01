"""Reports of visits: asked for, rendered once, kept."""

from __future__ import annotations

import io
from datetime import timedelta
from uuid import uuid4

import pypdf
import pytest

from fleet import store
from fleet.actions.attendance import record_attendance, visit
from fleet.models import Visit, VisitKind, VisitResult
from jobs.models import Run
from jobs.reports import request_report
from tests import builders
from tests.builders import NOON, TODAY
from tests.exhibits.sending import do_later_work
from tests.jobs.later import HandClock
from warranty.documents.report import inspection_report_pdf
from warranty.models import Document, DocumentKind
from warranty.selectors.packet.report import report_facts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept_apart(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.DOCUMENT_DIR = tmp_path / "documents"


def attended(roof, kind=VisitKind.INSPECTION, ref="V-1") -> Visit:
    record_attendance(
        roof=roof,
        attended=visit(
            uuid=uuid4(),
            ref=ref,
            kind=kind,
            happened_on=TODAY,
            result=VisitResult.PASS,
        ),
        by=builders.office(),
        now=NOON,
    )
    return Visit.objects.get(ref=ref)


def rendered(about: Visit, *, at=NOON) -> Document:
    run = request_report(visit=about, by=builders.office(), now=at)
    do_later_work(HandClock(at + timedelta(minutes=1)))
    run.refresh_from_db()
    return Document.objects.get(uuid=run.result["report"])


def words_of(document: Document) -> str:
    reader = pypdf.PdfReader(io.BytesIO(store.fetch(document.sha256)))
    return " ".join(" ".join(p.extract_text().split()) for p in reader.pages)


@pytest.mark.parametrize("kind", VisitKind)
def test_each_kind_of_visit_has_a_report(kind):
    about = attended(builders.make_promised_roof(), kind)

    document = rendered(about)

    assert document.kind == DocumentKind.INSPECTION_REPORT
    assert f"{kind.label.capitalize()} of coach" in words_of(document)


def test_tells_the_standing_and_the_next_due_date():
    words = words_of(rendered(attended(builders.make_promised_roof())))

    assert "Standing in force, as of 1 June 2026" in words
    assert "Next inspection due 5 May 2027" in words


def test_a_roof_without_a_promise_says_so():
    words = words_of(rendered(attended(builders.make_roof(), VisitKind.SURVEY)))

    assert "Nothing was promised on this roof" in words


def test_asked_twice_with_nothing_new_it_is_one_run_and_one_document():
    about = attended(builders.make_promised_roof())
    first = rendered(about)

    again = request_report(visit=about, by=builders.office(), now=NOON)

    assert str(again.result["report"]) == str(first.uuid)
    assert Document.objects.count() == 1


def test_rendered_again_after_more_was_recorded_its_bytes_are_the_same():
    about = attended(builders.make_promised_roof())
    document = rendered(about)
    later = NOON + timedelta(days=2)
    builders.make_claim(about.roof, now=later)

    again = report_facts(about, report_id=document.uuid, known_at=document.known_at)

    assert inspection_report_pdf(again) == store.fetch(document.sha256)


def test_recording_visits_asks_for_no_report():
    attended(builders.make_promised_roof())

    assert not Run.objects.filter(kind="inspection_report").exists()
