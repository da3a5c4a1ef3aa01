"""The letter to an owner on paper: one or two pages, nothing but the letter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from reportlab.platypus import CondPageBreak

from warranty.documents import style, wording
from warranty.documents.binder import Binder
from warranty.documents.facts import CompanyFacts
from warranty.documents.press import PageNumbers, RunningLines, press
from warranty.documents.text import P, Strong
from warranty.rules.letter import Letter

_ROOM_FOR_A_PART = 70.0  # a heading and the first lines under it [pt]


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterPaper:
    """A letter and the paper it is written on."""

    claim_ref: str
    company: CompanyFacts
    letter: Letter
    written_at: datetime


def letter_pdf(paper: LetterPaper) -> bytes:
    """Return the letter as a PDF file; equal facts give equal bytes.

    Parameters
    ----------
    paper : LetterPaper
        The letter as the rules drafted it; nothing is added to its words.
    """

    def bind(_pages: PageNumbers) -> Binder:
        return _bound(paper)

    lines = RunningLines(
        title=paper.letter.subject,
        subject=f"Letter about claim {paper.claim_ref}",
        author=paper.company.name,
        head_left=f"Claim {paper.claim_ref}",
        head_right=paper.company.name,
        foot_left=f"Letter of {wording.on(paper.letter.dated)}",
        generated_at=paper.written_at,
    )
    return press(bind, lines)


def _bound(paper: LetterPaper) -> Binder:
    binder, letter = Binder(), paper.letter
    binder.remark(Strong(paper.company.name), style.COMPANY)
    contact = (
        *paper.company.address_lines,
        paper.company.phone,
        paper.company.email,
    )
    binder.remark(" · ".join(part for part in contact if part), style.NOTE)
    binder.space(26)
    binder.body(wording.on(letter.dated), style.LETTER)
    if letter.to:
        binder.body(letter.to, style.LETTER)
    binder.space(10)
    binder.body(Strong(letter.subject), style.LETTER)
    for part in letter.parts:
        if part.heading:
            binder.story.append(CondPageBreak(_ROOM_FOR_A_PART))
            binder.story.append(P(part.heading, style.LETTER_HEADING))
        for line in part.paragraphs:
            binder.body(line, style.LETTER)
    binder.space(14)
    binder.body(letter.closing, style.LETTER)
    return binder
