"""The certificate says its nineteen items in order, the same way each time."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from tests.documents.certificate_facts import make_certificate_facts
from tests.documents.test_packet_hostile import PAYLOADS, squeezed, with_text
from warranty.documents.certificate import certificate_pdf
from warranty.documents.text import visible

pytestmark = pytest.mark.slow

# The order of the certificate checklist: 16 CFR 701.3 and 701.4, item by item.
ITEMS = [
    "1. Title and duration",
    "2. Who gives the promise",
    "3. Who is covered",
    "4. The coach and its roof",
    "5. The coating",
    "6. What is covered",
    "7. What is not covered",
    "8. Start, duration and end",
    "9. What we do and pay for",
    "10. What the owner does",
    "11. How to claim",
    "12. If we do not agree",
    "13. Implied warranties",
    "14. Incidental and consequential damages",
    "15. Your rights",
    "16. Registration",
    "17. Lifetime",
    "18. Local law",
    "19. Issue",
]


def reader(facts) -> PdfReader:
    return PdfReader(BytesIO(certificate_pdf(facts)))


def words(facts) -> str:
    return " ".join("".join(p.extract_text() for p in reader(facts).pages).split())


def test_the_nineteen_items_stand_in_order():
    said = words(make_certificate_facts())

    places = [said.index(item) for item in ITEMS]
    assert places == sorted(places)


def test_each_item_is_bookmarked():
    outline = reader(make_certificate_facts()).outline

    assert [entry.title for entry in outline] == ITEMS


def test_equal_facts_give_equal_bytes():
    facts = make_certificate_facts()

    assert certificate_pdf(facts) == certificate_pdf(facts)


@pytest.mark.parametrize(
    "sentence",
    [
        "gives you specific legal rights",  # 16 CFR 701.3(a)(9)
        "Local law governs; nothing here limits rights that cannot be waived.",
        "it is the life of the coach",  # 16 CFR 239.4
        "Registered on 10 May 2026",
        "ab" * 32,
    ],
)
def test_says(sentence):
    facts = make_certificate_facts()

    assert sentence.replace(" ", "") in words(facts).replace(" ", "")


def test_a_lot_and_the_film_are_in_it():
    facts = make_certificate_facts()
    said = words(facts)

    assert facts.roof.coats[0].lot in said
    assert f"{facts.film[0].mean_mil:.1f} mil" in said


def test_a_term_says_its_last_day():
    facts = make_certificate_facts()
    edition = replace(facts.edition, term_months=120)

    said = words(replace(facts, edition=edition, ends_on=facts.starts_on))

    assert "10 years" in said
    assert "No lifetime is promised" in said


def test_a_promise_that_does_not_pass_on_says_so():
    facts = make_certificate_facts()
    wording = replace(facts.wording, is_transferable=False)

    assert "does not pass to a later holder" in words(replace(facts, wording=wording))


def test_a_preview_says_on_its_face_that_it_promises_nothing():
    said = words(make_certificate_facts(is_preview=True))

    assert "This is no certificate and promises nothing" in said


def test_long_text_of_an_edition_is_never_cut():
    facts = make_certificate_facts()
    text = " ".join(f"clause{number}" for number in range(900))

    said = words(replace(facts, wording=replace(facts.wording, covered=text)))

    assert "clause899" in said
    assert "long entry" not in said


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS.keys())
def test_hostile_words_come_back_as_typed(payload):
    facts = make_certificate_facts()
    url = facts.public_url

    hostile = replace(with_text(facts, payload), public_url=url)

    said = squeezed("".join(p.extract_text() for p in reader(hostile).pages))
    assert squeezed(visible(payload)) in said or payload == PAYLOADS["hebrew"]


def test_no_page_of_a_hostile_certificate_reaches_outside():
    hostile = with_text(make_certificate_facts(), PAYLOADS["outside picture"])

    pages = reader(replace(hostile, public_url="http://x/1")).pages

    assert all("/Annots" not in page for page in pages)
    assert all(not page.images for page in pages)
