"""Builders of invented roofs and editions for the tests of the rules."""

from __future__ import annotations

from datetime import date
from typing import Any

from warranty.rules.calendar import date_of, day_number
from warranty.rules.clause import (
    CLAUSES,
    STANDINGS,
    VERDICT_OF_CODE,
    Clause,
    Standing,
    Verdict,
)
from warranty.rules.roof_facts import (
    HolderStep,
    PassingVisit,
    RoofFacts,
    SeriousFinding,
    VerdictStep,
    facts_of,
)
from warranty.rules.standing import assess
from warranty.rules.terms import Anchor, HolderKind, Terms, terms_columns

COMPLETED = date(2022, 6, 15)


def make_terms(**over: Any) -> Terms:
    """A life-of-the-coach edition counted from the anniversary."""
    values: dict[str, Any] = {
        "code": "LIFE",
        "title": "Limited warranty for the life of the coach",
        "owner_kind": HolderKind.PRIVATE,
        "anchor": Anchor.ANNIVERSARY,
        "interval_months": 12,
        "window_days": 60,
        "grace_days": 60,
        "reinstatement_days": 180,
        "registration_days": 30,
        "serious_cure_days": 30,
    }
    return Terms(**{**values, **over})


def make_rental_terms(**over: Any) -> Terms:
    """A ten-year edition counted from the last inspection."""
    values: dict[str, Any] = {
        "code": "RENT",
        "title": "Limited ten-year warranty for rental fleets",
        "owner_kind": HolderKind.RENTAL_FLEET,
        "anchor": Anchor.LAST_INSPECTION,
        "interval_months": 6,
        "window_days": 45,
        "grace_days": 30,
        "reinstatement_days": 90,
        "serious_cure_days": 21,
        "term_months": 120,
    }
    return make_terms(**{**values, **over})


def steps(verdict: Verdict, from_on: date = COMPLETED) -> tuple[VerdictStep, ...]:
    """One verdict from a day on."""
    return (VerdictStep(from_on=from_on, verdict=verdict),)


def visits(*days: str) -> tuple[PassingVisit, ...]:
    """Passing visits on ISO days."""
    return tuple(PassingVisit(on=date.fromisoformat(day)) for day in days)


def finding(found_on: str, cured_on: str | None = None) -> SeriousFinding:
    """A serious finding, by ISO days."""
    return SeriousFinding(
        found_on=date.fromisoformat(found_on),
        cured_on=None if cured_on is None else date.fromisoformat(cured_on),
    )


def make_roof(**over: Any) -> RoofFacts:
    """A roof completed on 15 June 2022 with every condition met."""
    met = steps(Verdict.MET)
    values: dict[str, Any] = {
        "completed_on": COMPLETED,
        "registered_on": COMPLETED,
        "holder": (HolderStep(from_on=COMPLETED, kind=HolderKind.PRIVATE),),
        "film": met,
        "substrate": met,
        "penetrations": met,
        "climate": met,
        "deck_dry": met,
        "alterations": met,
    }
    return RoofFacts(**{**values, **over})


class Answer:
    """One roof's assessment in words and dates."""

    def __init__(self, roof: RoofFacts, as_of: date, terms: Terms) -> None:
        one = assess(terms_columns([terms]), facts_of([roof]), day_number(as_of))
        self.standing: Standing = STANDINGS[one.standing[0]]
        self.next_due_on = date_of(int(one.next_due_on[0]))
        self.holds_until = date_of(int(one.holds_until[0]))
        self._codes = one.verdict[0]
        self._waived = one.waived[0]

    def verdict(self, clause: Clause) -> Verdict:
        return VERDICT_OF_CODE[self._codes[CLAUSES.index(clause)]]

    def is_waived(self, clause: Clause) -> bool:
        return bool(self._waived[CLAUSES.index(clause)])


def ask(roof: RoofFacts, as_of: str, terms: Terms | None = None) -> Answer:
    """Assess one roof on an ISO day."""
    return Answer(roof, date.fromisoformat(as_of), terms or make_terms())
