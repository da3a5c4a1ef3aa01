"""What a certificate prints, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from warranty.documents.facts import (
    CoachFacts,
    CompanyFacts,
    EditionFacts,
    FilmCoatFacts,
    HolderFacts,
    PenetrationFacts,
    RoofFacts,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WordingFacts:
    """What the edition says, item by item; blank where it says nothing."""

    kind: str  # "Limited" or "Full"
    life_of: str
    covered_owner: str = ""
    is_transferable: bool = True
    transfer_notice_days: int | None = None
    transfer_needs_inspection: bool = False
    covered: str = ""
    exclusions: str = ""
    remedy: str = ""
    not_paid: str = ""
    duties: str = ""
    duties_reason: str = ""
    claim_procedure: str = ""
    who_may_work: str = ""
    dispute_mechanism: str = ""
    implied_limit: str = ""
    consequential_limit: str = ""
    rights: str = ""
    demands_registration: bool = True
    registration: str = ""
    inspections_free: bool = False
    accepts_other_shops: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateFacts:
    """Everything a certificate prints."""

    number: str
    public_url: str
    is_preview: bool
    issued_on: date
    known_at: datetime
    company: CompanyFacts
    holder: HolderFacts
    coach: CoachFacts
    roof: RoofFacts
    area_m2: float
    edition: EditionFacts
    wording: WordingFacts
    starts_on: date
    ends_on: date | None  # the last covered day; None: for the life named
    registered_on: date | None
    registration_limit_on: date | None
    next_due_on: date | None
    standing_word: str
    content_sha256: str  # of these facts as canonical JSON, this field left out
    film: tuple[FilmCoatFacts, ...] = ()
    penetrations: tuple[PenetrationFacts, ...] = ()
