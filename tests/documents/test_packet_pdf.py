"""The claim packet as a file: read back with pypdf, an independent PDF reader."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from tests.documents.packet_facts import (
    make_film_coat,
    make_packet_facts,
    make_penetrations,
    make_readings,
    make_short_packet_facts,
)
from warranty.documents.packet import claim_packet_pdf
from warranty.documents.wording import money

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def facts():
    return make_packet_facts()


@pytest.fixture(scope="module")
def pdf(facts):
    return claim_packet_pdf(facts)


@pytest.fixture(scope="module")
def reader(pdf):
    return PdfReader(BytesIO(pdf))


@pytest.fixture(scope="module")
def pages(reader):
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def words_of(facts):
    reader = PdfReader(BytesIO(claim_packet_pdf(facts)))
    return " ".join(" ".join(p.extract_text().split()) for p in reader.pages)


class TestFile:
    def test_is_byte_identical_when_rendered_twice(self, facts, pdf):
        assert claim_packet_pdf(facts) == pdf

    def test_embeds_every_typeface(self, reader):
        fonts = [
            font.get_object()
            for page in reader.pages
            for font in page["/Resources"]["/Font"].values()
        ]

        assert fonts
        assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)
        assert not [f for f in fonts if "DejaVu" not in f["/BaseFont"]]

    def test_says_what_it_is(self, reader):
        assert reader.metadata.title == "Claim packet C0001, coach HL-0007"
        assert reader.metadata.author == "Harrow Lake Coach Roofs"
        assert "HL-0007-1" in reader.metadata.subject
        assert reader.root_object["/Lang"] == "en-US"

    def test_was_made_when_the_facts_say(self, reader, facts):
        assert reader.metadata.creation_date == facts.generated_at

    def test_holds_no_picture_and_no_outside_link(self, pdf, reader):
        assert b"/Subtype /Image" not in pdf
        assert b"/URI" not in pdf
        assert all("/AA" not in page for page in reader.pages)

    def test_bookmarks_name_every_section_in_the_contents(self, reader, pages):
        titles = [entry.title for entry in reader.outline]

        assert len(titles) == 13
        assert all(title in pages[1] for title in titles)

    def test_contents_list_gives_the_page_each_section_starts_on(self, reader, pages):
        for entry in reader.outline:
            page = reader.get_destination_page_number(entry) + 1
            assert f"{entry.title} {page}" in pages[1]

    def test_every_page_has_its_running_lines(self, pages):
        count = len(pages)
        for order, words in enumerate(pages, start=1):
            assert f"page {order} of {count}" in words
            assert "Packet PK-2026-0007-1" in words
            assert "Claim C0001" in words


class TestCover:
    def test_says_the_standing_in_words_first(self, pages):
        cover = pages[0]

        sentence = cover.index("On the day of loss the promise was suspended.")
        assert sentence < cover.index("3.1")

    def test_lists_every_clause_with_its_verdict(self, facts, pages):
        for clause in facts.standing.clauses:
            assert clause.title in pages[0]
            assert clause.because in pages[0]
        assert "met (waived)" in pages[0]


class TestGlance:
    """The page that answers a reader who has only this file."""

    @pytest.mark.parametrize(
        "answer",
        [
            "Suspended, as of 8 April 2026, as known at 2026-04-24 10:05 -05:00",
            "4.2 Inspections current: not met",
            "Missed: due 16 June 2025, grace ran out on 15 August 2025",
            "reported 23 April 2026: 15 days",
            "base: B216 finish: F329",
            "lower spot limit 10.0 mil (254 µm)",
            "3.1 °C at 2022-06-16 07:55 -05:00; 3.0 °C asked",
            "V00088, 20 June 2024, by C. Uyeda: pass",
            "Hairline in the flashing at the aft corner",
            "C. Uyeda, 2024-06-20 16:42 -05:00",
            "USD 780.00",
        ],
    )
    def test_answers(self, pages, answer):
        assert answer in pages[2]


class TestBody:
    def test_says_that_the_rule_is_borrowed_from_metal(self, pages):
        assert "SSPC-PA 2 is a rule for coatings on metal, borrowed here" in " ".join(
            pages
        )

    def test_calls_a_wet_gauge_film_estimated(self, pages):
        assert "Base coat: estimated dry film" in " ".join(pages)

    def test_calls_a_dry_gauge_film_measured(self):
        coat = replace(make_film_coat(make_readings("base")), is_estimated=False)

        assert "measured dry film" in words_of(make_short_packet_facts(film=(coat,)))

    def test_says_that_local_law_governs(self, pages):
        assert "Local law governs" in pages[0]

    def test_never_says_that_anything_is_settled_for_good(self, pages):
        assert not re.search(r"\bfinal", " ".join(pages), re.IGNORECASE)

    def test_prints_every_ledger_hash_whole(self, facts, pages):
        words = " ".join(pages)

        for entry in facts.ledger.entries:
            assert entry.payload_hash in words
            assert entry.entry_hash in words

    def test_prints_who_recorded_each_visit_and_when(self, facts, pages):
        words = " ".join(pages)

        assert all(visit.ref in words for visit in facts.visits)
        assert "Cures the findings of V00089." in words
        assert "Cured by V00104, 2024-11-10." in words


class TestMissingFacts:
    def test_says_when_no_positions_are_recorded(self):
        words = words_of(make_short_packet_facts(film_maps=()))

        assert "Positions of the readings not recorded; no map drawn." in words

    def test_prints_a_packet_of_a_roof_with_no_records(self):
        bare = make_short_packet_facts(
            film=(),
            film_maps=(),
            readings=(),
            climate=(),
            climate_limits=None,
            visits=(),
            exhibits=(),
            penetrations=(),
            due_dates=(),
            timeline=(),
            last_inspection=None,
        )

        words = words_of(bare)

        assert "No film readings are recorded." in words
        assert "No penetrations are recorded." in words
        assert "No visits are recorded." in words
        assert "None is recorded." in words

    def test_names_a_penetration_that_lies_off_the_roof(self):
        first, *rest = make_penetrations()
        lost = replace(first, x_m=55.0)

        words = words_of(make_short_packet_facts(penetrations=(lost, *rest)))

        assert "outside the outline, not drawn" in words

    def test_shows_no_due_date_once_the_promise_has_ended(self):
        facts = make_short_packet_facts()
        ended = replace(facts.standing, word="ENDED")

        words = words_of(replace(facts, standing=ended))

        assert "On the day of loss the promise had ended." in words
        assert "Next inspection due none, the promise has ended" in words


@pytest.mark.parametrize(
    ("cents", "words"),
    [
        (78_000, "USD 780.00"),
        (123_456_789, "USD 1,234,567.89"),
        (5, "USD 0.05"),
        (-150, "USD -1.50"),
        (90_071_992_547_409_93, "USD 90,071,992,547,409.93"),  # past float's integers
        (None, "not recorded"),
    ],
)
def test_money_is_printed_from_integer_cents(cents, words):
    assert money(cents, "USD") == words
