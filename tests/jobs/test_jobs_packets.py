"""A packet's run: photos that nobody developed yet, what is known, the same bytes."""

from __future__ import annotations

import io
from datetime import timedelta
from hashlib import sha256
from uuid import uuid4

import pypdf
import pytest

from fleet import store
from fleet.actions.exhibits import Showing
from fleet.exhibits.limits import MAX_FILE_BYTES
from fleet.models import Exhibit, Look, StoredFile
from jobs.exhibits import take_in
from jobs.packets import request_packet
from tests import builders
from tests.builders import NOON
from tests.exhibits.pictures import encoded, scene
from tests.exhibits.sending import do_later_work
from tests.jobs.later import HandClock
from warranty.documents.packet import claim_packet_pdf
from warranty.models import Document
from warranty.selectors.packet.exhibits import exhibits_shown, undeveloped
from warranty.selectors.packet.facts import packet_facts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("signing_key")]


@pytest.fixture(autouse=True)
def kept_apart(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    settings.DOCUMENT_DIR = tmp_path / "documents"


@pytest.fixture
def claim():
    return builders.make_claim(builders.make_promised_roof())


def photo(about, /, shade: int = 40, at=NOON, **showing) -> Exhibit:
    with store.incoming(max_bytes=MAX_FILE_BYTES) as file:
        file.write(encoded(scene(640, 480, shade=shade)))
        exhibit, _ = take_in(
            file,
            roof=about.roof,
            by=builders.office(),
            now=at,
            uuid=uuid4(),
            showing=Showing(**showing),
        )
    return exhibit


def rendered(claim, *, at=NOON) -> tuple[Document, str]:
    run = request_packet(claim=claim, by=builders.office(), now=at)
    do_later_work(HandClock(at + timedelta(minutes=1)))
    run.refresh_from_db()
    document = Document.objects.get(uuid=run.result["packet"])
    reader = pypdf.PdfReader(io.BytesIO(store.fetch(document.sha256)))
    return document, " ".join(
        " ".join(page.extract_text().split()) for page in reader.pages
    )


class TestPhotosOfAPacket:
    def test_are_developed_by_its_run_when_nobody_has(self, claim):
        exhibit = photo(claim, caption="The stain, from the door")
        StoredFile.objects.update(look=Look.PENDING)
        shown = exhibits_shown(claim.roof_id, known_at=NOON, claim=claim.uuid)
        assert undeveloped(shown) == (exhibit.sha256,)

        _, words = rendered(claim)

        assert StoredFile.objects.get(sha256=exhibit.sha256).look == Look.DEVELOPED
        assert "The stain, from the door" in words
        assert "Not shown" not in words

    def test_say_so_where_the_original_is_gone(self, claim, tmp_path):
        exhibit = photo(claim)
        for path in tmp_path.rglob(f"*{exhibit.sha256[4:]}*"):
            path.unlink()

        _, words = rendered(claim)

        assert "Not shown: its bytes are not in the store any more" in words

    def test_of_another_claim_are_not_in_it(self, claim):
        other = builders.make_claim(claim.roof)
        photo(other, claim=other.uuid, caption="Somebody's bedroom")

        _, words = rendered(claim)

        assert "Somebody's bedroom" not in words

    def test_that_came_later_are_not_in_it(self, claim):
        before = NOON - timedelta(days=1)
        photo(claim)

        assert exhibits_shown(claim.roof_id, known_at=before, claim=claim.uuid) == []


def test_rendered_again_after_more_was_recorded_its_bytes_are_the_same(claim):
    photo(claim)
    document, _ = rendered(claim)
    later = NOON + timedelta(days=2)
    photo(claim, shade=90, at=later, caption="Came in later")
    rendered(claim, at=later)

    again = packet_facts(claim.pk, packet_id=document.uuid, known_at=document.known_at)

    pages = claim_packet_pdf(again)
    assert sha256(pages).hexdigest() == document.body_sha256
    assert store.fetch(document.sha256).startswith(pages)
