"""What an inspection report prints, as frozen values. It names no owner: the report
goes with the roof, whoever holds the coach later."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from warranty.documents.facts import (
    ClimateFacts,
    CoachFacts,
    CompanyFacts,
    ExhibitFacts,
    FindingFacts,
    PenetrationFacts,
    StandingFacts,
    VisitFacts,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CuredFacts:
    """A finding of an earlier visit that this visit cured."""

    visit_ref: str
    found_on: date
    finding: FindingFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmReadFacts:
    """The film readings of one coat on the day of the visit."""

    coat: str
    count: int
    mean_mil: float
    lowest_mil: float
    is_estimated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadFacts:
    """One reading of another kind, as it was read."""

    what: str
    value: str
    place: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportFacts:
    """Everything an inspection report prints."""

    report_id: str
    generated_at: datetime
    company: CompanyFacts
    coach: CoachFacts
    roof_no: str
    system: str  # empty before anything was laid
    visit: VisitFacts
    note: str = ""
    cured: tuple[CuredFacts, ...] = ()
    standing: StandingFacts | None = None  # None: nothing is promised yet
    film: tuple[FilmReadFacts, ...] = ()
    climate: tuple[ClimateFacts, ...] = ()
    reads: tuple[ReadFacts, ...] = ()
    penetrations: tuple[PenetrationFacts, ...] = ()
    exhibits: tuple[ExhibitFacts, ...] = ()
