"""The letter on paper: the words the rules drafted, and nothing else."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from io import BytesIO

from pypdf import PdfReader

from warranty.documents.facts import CompanyFacts
from warranty.documents.letter import LetterPaper, letter_pdf
from warranty.rules.cause import Cause
from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.decision import Outcome
from warranty.rules.letter import CitedClause, LetterFacts, letter


def make_paper(*, reason: str = "Nobody inspected it.", owner: str = "Silvan Marsh"):
    cited = CitedClause(
        clause=Clause.INSPECTIONS,
        number="9",
        title="Inspections current",
        verdict=Verdict.NOT_MET,
        waived=False,
        because="The inspection due on 2025-06-16 was not passed by 2025-08-15.",
        cure="Pass a reinstatement inspection on or before 2026-02-11.",
        reason=reason,
        evidence=("visit V00088",),
    )
    drafted = letter(
        LetterFacts(
            company="Harrow Lake Coach Roofs",
            address="18 Slipway Road, Gull Prairie, WI",
            owner=owner,
            claim_ref="C0001",
            coach_no="HL-0007",
            edition="LIFE-2021",
            noticed_on=date(2026, 4, 8),
            reported_on=date(2026, 4, 23),
            decided_on=date(2026, 4, 24),
            standing=Standing.SUSPENDED,
            outcome=Outcome.DECLINED,
            approved="USD 0.00",
            cause=Cause.DETAIL,
            cited=(cited,),
        )
    )
    return LetterPaper(
        claim_ref="C0001",
        company=CompanyFacts(name="Harrow Lake Coach Roofs"),
        letter=drafted,
        written_at=datetime(2026, 4, 24, 14, 0, tzinfo=UTC),
    )


def squeezed(words):
    return "".join(words.split())


def read(paper):
    reader = PdfReader(BytesIO(letter_pdf(paper)))
    return "".join(page.extract_text() for page in reader.pages)


def test_prints_every_sentence_of_the_letter():
    paper = make_paper()

    words = squeezed(read(paper))

    for line in paper.letter.text.split("\n\n"):
        assert squeezed(line) in words


def test_never_calls_the_answer_the_last_one():
    # 16 CFR 700.8
    assert not re.search(r"\b(final|binding|definitiv)", read(make_paper()), re.I)


def test_names_what_would_cure_it():
    assert squeezed("Pass a reinstatement inspection") in squeezed(read(make_paper()))


def test_equal_letters_are_equal_bytes():
    assert letter_pdf(make_paper()) == letter_pdf(make_paper())


def test_a_reason_of_many_pages_is_printed_whole():
    reason = " ".join(f"sentence {n} of the reason." for n in range(900))

    words = squeezed(read(make_paper(reason=reason)))

    assert squeezed("sentence 899 of the reason.") in words
