"""The letter to an owner, drafted from the clauses in plain words.

It says what was decided and why, clause by clause, what would cure each, and how to be
looked at again. It never calls itself the last word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from warranty.rules.cause import Cause
from warranty.rules.clause import Clause, Standing, Verdict
from warranty.rules.decision import Outcome
from warranty.rules.letter_words import forbidden_words

_MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


class LetterInputError(ValueError):
    """A letter that must not be sent as it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CitedClause:
    """One clause the decision cites, as it stood on the day the loss was noticed."""

    clause: Clause
    number: str
    title: str
    verdict: Verdict
    waived: bool
    because: str
    cure: str
    reason: str
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterFacts:
    """What a letter is drafted from. Money is written already, e.g. ``USD 420.00``."""

    company: str
    address: str
    owner: str
    claim_ref: str
    coach_no: str
    edition: str
    noticed_on: date
    reported_on: date
    decided_on: date
    standing: Standing
    outcome: Outcome
    approved: str
    cause: Cause
    cited: tuple[CitedClause, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterPart:
    """A heading, empty for none, and its paragraphs."""

    heading: str
    paragraphs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """A letter ready to be laid out."""

    to: str
    subject: str
    dated: date
    parts: tuple[LetterPart, ...]
    closing: str

    @property
    def text(self) -> str:
        """The whole letter as plain text, a blank line between paragraphs."""
        told = [
            part for each in self.parts for part in (each.heading, *each.paragraphs)
        ]
        return "\n\n".join(
            line for line in (self.to, self.subject, *told, self.closing) if line
        )


_WORTH: Final[Mapping[Standing, str]] = {
    Standing.PENDING: "had not begun",
    Standing.IN_FORCE: "was in force",
    Standing.AT_RISK: "was in force, though something was already late or open",
    Standing.SUSPENDED: "was suspended",
    Standing.ENDED: "had ended",
}
_CAUSES: Final[Mapping[Cause, str]] = {
    Cause.FILM: "We found that the film itself let the water in.",
    Cause.DETAIL: "We found that the sealing around a penetration or seam had opened.",
    Cause.ADHESION: "We found that the film had come loose from what lies under it.",
    Cause.SUBSTRATE: "We found that the deck or skin under the film had given way.",
    Cause.IMPACT: "We found that something had struck the roof.",
    Cause.ALTERATION: "We found that something fitted to the roof later let water in.",
    Cause.NOT_ROOF: "We found that the water did not come through the roof.",
    Cause.CONDENSATION: "We found that the water was condensation, not a leak.",
    Cause.UNKNOWN: "",
}


def in_words(day: date) -> str:
    """Return a date as a letter writes it, e.g. ``8 April 2026``."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def letter(facts: LetterFacts) -> Letter:
    """Return the letter that tells an owner what was decided and why.

    Parameters
    ----------
    facts : LetterFacts

    Returns
    -------
    Letter

    Raises
    ------
    LetterInputError
        If a sentence of the records or reasons would call the answer final.

    References
    ----------
    .. [1] 16 CFR 700.8: a decision may not be called final or binding.
    .. [2] 16 CFR 701.3(a)(9): specific legal rights, others vary from State to State.
    """
    drafted = Letter(
        to=facts.owner,
        subject=f"Your claim {facts.claim_ref} for the roof of coach {facts.coach_no}",
        dated=facts.decided_on,
        parts=(
            LetterPart(heading="", paragraphs=_opening(facts)),
            LetterPart(heading="Why", paragraphs=_why(facts)),
            *_cures(facts),
            LetterPart(heading="If you see it otherwise", paragraphs=_again(facts)),
        ),
        closing=f"{facts.company}, {facts.address}",
    )
    said = " ".join(line for part in drafted.parts for line in part.paragraphs)
    words = forbidden_words(said)
    if words:
        raise LetterInputError(
            f"the letter must not say {', '.join(words)}: word the reasons otherwise."
        )
    return drafted


def _opening(facts: LetterFacts) -> tuple[str, ...]:
    noticed, reported = in_words(facts.noticed_on), in_words(facts.reported_on)
    asked = (
        f"You told us on {reported} of water that was noticed on {noticed}. Thank you "
        "for telling us."
    )
    answers = {
        Outcome.APPROVED: f"We approve the claim, up to {facts.approved}.",
        Outcome.IN_PART: f"We approve the claim in part, up to {facts.approved}.",
        Outcome.DECLINED: "On the records we have today we cannot approve the claim.",
    }
    worth = (
        f"On {noticed} the promise under edition {facts.edition} "
        f"{_WORTH[facts.standing]}. That is the day that counts."
    )
    cause = _CAUSES[facts.cause]
    return tuple(line for line in (asked, answers[facts.outcome], worth, cause) if line)


def _why(facts: LetterFacts) -> tuple[str, ...]:
    return tuple(_clause(each) for each in facts.cited)


def _clause(cited: CitedClause) -> str:
    verdict = {
        Verdict.MET: "met, waived" if cited.waived else "met",
        Verdict.NOT_MET: "not met",
        Verdict.UNKNOWN: "not known",
    }[cited.verdict]
    # A waiver's own words were written for the office.
    because = "The office has waived this clause." if cited.waived else cited.because
    reason = "" if cited.reason.strip() == cited.because else f" {cited.reason.strip()}"
    records = f" (Records: {', '.join(cited.evidence)}.)" if cited.evidence else ""
    return (
        f"Clause {cited.number}, {cited.title.lower()}: {verdict}. {because}"
        f"{reason}{records}"
    )


def _cures(facts: LetterFacts) -> tuple[LetterPart, ...]:
    cures = tuple(
        f"Clause {each.number}: {each.cure}" for each in facts.cited if each.cure
    )
    if not cures:
        return ()
    first = "For the time to come, this would put the promise right again:"
    return (LetterPart(heading="What would cure it", paragraphs=(first, *cures)),)


def _again(facts: LetterFacts) -> tuple[str, ...]:
    again = (
        "This is our answer on what is on record today. If you have an invoice, an "
        "inspection report, photographs or anything else that we have not seen, send "
        f"it to us and name claim {facts.claim_ref}: we will open the claim again and "
        "look at it anew."
    )
    rights = (
        "You have specific legal rights, and you may have other rights, which vary "
        "from State to State. Local law governs; nothing in this letter limits rights "
        "that cannot be waived."
    )
    return again, rights
