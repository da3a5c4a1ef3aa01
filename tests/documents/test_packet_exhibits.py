"""Exhibits, decisions and findings on the packet's pages, read back with pypdf."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from tests.documents.packet_facts import (
    make_decision,
    make_exhibits,
    make_picture,
    make_short_packet_facts,
    make_shown_exhibits,
    make_visits,
)
from warranty.documents.exhibit_pages import pairs_of
from warranty.documents.facts import EditionTextFacts
from warranty.documents.finding_pages import findings_placed, letter_of, pennants_of
from warranty.documents.packet import claim_packet_pdf
from warranty.documents.picture import one_scale


def words_of(facts):
    reader = PdfReader(BytesIO(claim_packet_pdf(facts)))
    return " ".join(" ".join(p.extract_text().split()) for p in reader.pages)


def squeezed(words):
    return "".join(words.split())


class TestExhibits:
    def test_every_one_tells_both_clocks_and_its_whole_hash(self):
        exhibits = make_shown_exhibits(3)

        words = words_of(make_short_packet_facts(exhibits=exhibits))

        for each in exhibits:
            assert each.sha256 in squeezed(words)
            assert each.caption in words
        assert words.count("Camera: 2026-04-23 09:14 -05:00") == 3
        assert words.count("Received: 2026-04-23 09:31 -05:00") == 3

    def test_its_picture_is_the_kept_copy_byte_for_byte(self):
        exhibits = make_shown_exhibits(1)
        pdf = PdfReader(
            BytesIO(claim_packet_pdf(make_short_packet_facts(exhibits=exhibits)))
        )

        drawn = [
            each.get_object().get_data()
            for page in pdf.pages
            for each in page["/Resources"].get("/XObject", {}).values()
        ]

        assert drawn == [exhibits[0].picture.content]

    def test_one_without_a_picture_says_why(self):
        words = words_of(make_short_packet_facts(exhibits=make_exhibits()))

        assert "Not shown: its bytes are not in the store any more" in words

    def test_with_pictures_the_bytes_are_the_same_again(self):
        facts = make_short_packet_facts(exhibits=make_shown_exhibits(4))

        assert claim_packet_pdf(facts) == claim_packet_pdf(facts)

    def test_before_and_after_are_a_pair_when_both_have_a_picture(self):
        before, after = make_shown_exhibits(2)

        assert pairs_of((before, after)) == ((before, after),)
        assert pairs_of((replace(before, picture=None), after)) == ()

    def test_a_pair_is_drawn_at_one_scale(self):
        wide, high = make_picture(320, 240), make_picture(240, 320)

        scale = one_scale((wide, high), width_pt=160, height_pt=160)

        assert scale == pytest.approx(0.5)


class TestDecision:
    def test_says_what_why_who_when_and_the_money(self):
        words = words_of(make_short_packet_facts())

        for said in (
            "The claim was approved in part.",
            "the sealing around a penetration or seam",
            "R. Oduya, 2026-04-24 09:00 -05:00",
            "M. Castellan",
            "all that was recorded by 2026-04-24 09:00 -05:00",
            "We pay for the sealing; the interior stood open a year.",
            "Skylight flange sealed anew visit V00120",
            "Approved USD 520.00; not used USD 209.50.",
        ):
            assert said in words

    def test_one_made_before_a_reopening_stays_in_the_packet(self):
        earlier = make_decision(outcome="DECLINED", approved_cents=0, remedies=())
        later = make_decision(round_no=2)

        words = words_of(make_short_packet_facts(decisions=(earlier, later)))

        assert words.index("approved in part") < words.index("Decided earlier, round 1")

    def test_an_undecided_claim_says_so(self):
        assert "Not decided yet" in words_of(make_short_packet_facts(decisions=()))

    def test_an_erased_one_keeps_its_figures(self):
        erased = make_decision(reasons=(), results_sha256="")

        words = words_of(make_short_packet_facts(decisions=(erased,)))

        assert "The texts of this decision were erased" in words
        assert "USD 520.00" in words


class TestDoubts:
    def test_an_answered_one_tells_by_whom_and_an_open_one_that_it_is(self):
        words = words_of(make_short_packet_facts())

        assert "answered: A second pail was opened" in words
        assert "Was every one read? — open" in words


class TestFindings:
    def test_letters_go_on_after_the_alphabet(self):
        assert [letter_of(n) for n in (0, 25, 26, 51, 52)] == [
            "A",
            "Z",
            "AA",
            "AZ",
            "BA",
        ]

    def test_every_finding_has_a_row_and_each_with_a_place_a_pennant(self):
        placed = findings_placed(make_visits(4), ())

        assert [each.letter for each in placed] == ["A", "B"]
        assert [each.letter for each in pennants_of(placed)] == ["A"]
        assert pennants_of(placed)[0].is_cured

    def test_one_without_a_place_says_that_it_is_not_drawn(self):
        words = words_of(make_short_packet_facts())

        assert "not drawn: its place on the plan is not recorded" in words


def test_the_editions_own_words_are_printed_whole():
    facts = make_short_packet_facts()
    text = " ".join(f"sentence {n} of the cover." for n in range(400))
    edition = replace(
        facts.edition, text=(EditionTextFacts(title="What is covered", text=text),)
    )

    words = words_of(replace(facts, edition=edition))

    assert "sentence 0 of the cover" in words
    assert "sentence 399 of the cover" in words
