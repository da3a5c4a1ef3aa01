"""Certificates: what one prints, who may see it, and what anybody may confirm."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db.models import QuerySet

from fleet.civil import office_day
from fleet.ledger.canonical import canonical_json
from fleet.models import LedgerEntry, OwnerKind, Roof
from fleet.scope import Scope
from fleet.selectors.scopes import within
from warranty.documents.certificate_facts import CertificateFacts, WordingFacts
from warranty.documents.facts import CoachFacts, HolderFacts, RoofFacts
from warranty.models import Certificate, Document, DocumentKind, Edition, Standing
from warranty.rules.calendar import add_months
from warranty.rules.clause import Clause
from warranty.rules.promise import ITEMS
from warranty.selectors.explanations import RoofExplanation, explanation_of
from warranty.selectors.packet.facts import (
    coach_facts,
    company_facts,
    edition_facts,
    holder_facts,
    penetration_facts,
    roof_facts,
)
from warranty.selectors.packet.film import film_facts
from warranty.selectors.standings import standings_of
from warranty.selectors.terms import clauses_of

# Entries that only tell that a document was made; they change nothing it would say.
OF_DOCUMENTS = ("certificate", "document")
SAMPLE_NUMBER = "00000-00000-00000-00000"


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmed:
    """What anybody who holds a certificate's number may know."""

    number: str
    issued_on: date
    edition: Edition
    standing: str
    as_of: date
    is_newest: bool


def certificate_facts(
    roof_id: int, *, number: str, known_at: datetime
) -> CertificateFacts | None:
    """Return what a certificate says as known at a moment; None without a promise."""
    today = office_day(known_at)
    answer = explanation_of(roof_id, as_of=today, known_at=known_at)
    if answer is None or answer.coverage.facts.completed_on is None:
        return None
    edition = answer.coverage.promise.edition
    records = answer.coverage.records
    coach = coach_facts(records)
    facts = CertificateFacts(
        number=number,
        public_url=public_url(number),
        is_preview=False,
        issued_on=today,
        known_at=known_at,
        company=company_facts(),
        holder=holder_facts(records, today),
        coach=coach,
        roof=roof_facts(records),
        area_m2=coach.length_m * coach.width_m,
        edition=edition_facts(edition),
        wording=wording_facts(edition),
        film=film_facts(records, as_of=today),
        penetrations=penetration_facts(records),
        content_sha256="",
        **_dates(answer, edition),
    )
    return _sealed(facts)


def _dates(answer: RoofExplanation, edition: Edition) -> dict[str, object]:
    facts, said = answer.coverage.facts, answer.explanation
    starts_on = facts.completed_on
    if starts_on is None:
        raise ValueError("a certificate needs a completion day.")
    return {
        "starts_on": starts_on,
        "ends_on": _last_day(starts_on, edition.term_months),
        "registered_on": facts.registered_on,
        "registration_limit_on": starts_on + timedelta(days=edition.registration_days),
        "next_due_on": said.next_due_on,
        "standing_word": said.standing.value,
    }


def _last_day(starts_on: date, term_months: int | None) -> date | None:
    if term_months is None:
        return None
    return add_months(starts_on, term_months) - timedelta(days=1)


def _sealed(facts: CertificateFacts) -> CertificateFacts:
    """Return the facts with the hash of what they say."""
    said = canonical_json(_plain(asdict(facts)))
    digest = hashlib.sha256(said.encode("utf-8", "surrogatepass")).hexdigest()
    return replace(facts, content_sha256=digest)


def _plain(value: object) -> object:
    """Return facts as JSON has them: dates and numbers as their text."""
    match value:
        case dict():
            return {name: _plain(each) for name, each in value.items()}
        case tuple() | list():
            return [_plain(each) for each in value]
        case bool() | None | int() | str():
            return value
        case float():
            return repr(value)
        case date():
            return value.isoformat()
        case _:
            return str(value)


def wording_facts(edition: Edition) -> WordingFacts:
    """Return what an edition says, as a certificate prints it."""
    return WordingFacts(
        kind=edition.designation.capitalize(),
        life_of=edition.life_of or "coach",
        is_transferable=edition.is_transferable,
        transfer_notice_days=edition.transfer_notice_days,
        transfer_needs_inspection=edition.transfer_needs_inspection,
        demands_registration=Clause.REGISTERED in clauses_of(edition),
        inspections_free=edition.inspections_free,
        accepts_other_shops=edition.accepts_other_shops,
        **{item.value: getattr(edition, item.value) for item in ITEMS},
    )


def sample_certificate_facts(edition: Edition, *, now: datetime) -> CertificateFacts:
    """Return what a certificate under a draft would say, for a made-up coach."""
    today = office_day(now)
    coach = CoachFacts(
        unit_no="(sample)",
        vin="",
        year=None,
        make="a coach",
        model="like yours",
        body="",
        length_m=9.0,
        width_m=2.5,
    )
    return _sealed(
        CertificateFacts(
            number=SAMPLE_NUMBER,
            public_url=public_url(SAMPLE_NUMBER),
            is_preview=True,
            issued_on=today,
            known_at=now,
            company=company_facts(),
            holder=HolderFacts(
                name="(the holder)", kind=OwnerKind(edition.owner_kind).label
            ),
            coach=coach,
            roof=RoofFacts(
                roof_no="1",
                system_code="(system)",
                system_title="the system that is laid",
                substrate="as found",
                started_on=today,
                completed_on=today,
            ),
            area_m2=coach.length_m * coach.width_m,
            edition=edition_facts(edition),
            wording=wording_facts(edition),
            starts_on=today,
            ends_on=_last_day(today, edition.term_months),
            registered_on=None,
            registration_limit_on=today + timedelta(days=edition.registration_days),
            next_due_on=add_months(today, edition.interval_months),
            standing_word="PENDING",
            content_sha256="",
        )
    )


def public_url(number: str) -> str:
    """Return the address where anybody confirms a certificate."""
    return f"{settings.SITE_URL}/certificate/{number}"


def confirmed(number: str, *, today: date, now: datetime) -> Confirmed | None:
    """Return what the public page says of a certificate's number, or None."""
    found = Certificate.objects.select_related("edition").filter(number=number).first()
    if found is None:
        return None
    standing = Standing.objects.filter(roof_id=found.roof_id).first()
    later = Certificate.objects.filter(roof_id=found.roof_id, pk__gt=found.pk)
    return Confirmed(
        number=found.number,
        issued_on=found.issued_on,
        edition=found.edition,
        standing=_word_today(standing, today=today, now=now) if standing else "",
        as_of=today,
        is_newest=not later.exists(),
    )


def _word_today(standing: Standing, *, today: date, now: datetime) -> str:
    """Return the word of today, though the day's sweep may not have come by yet."""
    if standing.holds_until is None or standing.holds_until >= today:
        return standing.word
    fresh = standings_of([standing.roof_id], as_of=today, known_at=now)
    return fresh[standing.roof_id].standing.value if fresh else ""


def last_told_seq(roof_id: int) -> int:
    """Return the ledger's last entry that a document would tell of."""
    entries = LedgerEntry.objects.filter(roof_id=roof_id)
    told = entries.exclude(kind__in=OF_DOCUMENTS).order_by("-seq")
    return told.values_list("seq", flat=True).first() or 0


def certificates_visible_to(scope: Scope) -> QuerySet[Document]:
    """Return the certificates a caller may see.

    A former holder's name stands on an older one: a later holder does not see it.
    """
    documents = Document.objects.filter(kind=DocumentKind.CERTIFICATE).select_related(
        "certificate__roof", "certificate__edition"
    )
    return within(documents, scope, owner_path="certificate__holder_id")


def certificates_of(roof: Roof, scope: Scope) -> QuerySet[Document]:
    """Return a roof's certificates that a caller may see, the newest first."""
    mine = certificates_visible_to(scope).filter(certificate__roof=roof)
    return mine.order_by("-pk")
