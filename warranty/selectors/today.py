"""What must happen and by when: the promises, roofs and claims that ask for a hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TypeVar

from django.db.models import (
    Case,
    DateTimeField,
    DurationField,
    Exists,
    ExpressionWrapper,
    F,
    Model,
    OuterRef,
    Q,
    QuerySet,
    Value,
    When,
)
from django.db.models.functions import Substr

from fleet.models import Cure, Finding, Roof, Severity
from fleet.scope import Scope
from fleet.selectors.scopes import roofs_visible_to, within
from warranty.models import Claim, Edition
from warranty.rules.claim import ClaimStatus
from warranty.rules.clause import CLAUSE_CODE, Clause, Standing
from warranty.rules.response import ResponseClock
from warranty.selectors.claim_clock import clocks_of
from warranty.selectors.claims import claims_visible_to

AnyModel = TypeVar("AnyModel", bound=Model)
MOST_SHOWN = 8
# How far ahead a limit is shown.
AHEAD = timedelta(days=14)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimDue:
    """A claim that waits for an answer."""

    claim: Claim
    clock: ResponseClock | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofDue:
    """A roof, what about it, and the last day on which something helps."""

    roof: Roof
    since: date | None
    by: date | None = None
    days_left: int = 0  # below zero the limit has passed
    what: str = ""


def _due(
    roof: Roof, today: date, *, since: date, limit_days: int, what: str = ""
) -> RoofDue:
    by = since + timedelta(days=limit_days)
    left = (by - today).days
    return RoofDue(roof=roof, since=since, by=by, days_left=left, what=what)


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """Everything of a day, each list cut to its first rows, each with its count."""

    as_of: date
    claims: tuple[ClaimDue, ...]
    claims_count: int
    graces: tuple[RoofDue, ...]
    graces_count: int
    findings: tuple[RoofDue, ...]
    findings_count: int
    registrations: tuple[RoofDue, ...]
    registrations_count: int
    films: tuple[RoofDue, ...]
    films_count: int

    @property
    def count(self) -> int:
        return (
            self.claims_count
            + self.graces_count
            + self.findings_count
            + self.registrations_count
            + self.films_count
        )


def today_of(scope: Scope, *, today: date, now: datetime) -> Today:
    """Return what asks for a hand on a day among what a caller may see."""
    editions = list(Edition.objects.filter(published_at__isnull=False))
    claims, claims_count = _claims(scope, today=today, now=now)
    graces = _in_grace(scope, editions, today)
    findings = _serious(scope, editions, today)
    registrations = _unregistered(scope, editions, today)
    films = _films(scope)
    return Today(
        as_of=today,
        claims=claims,
        claims_count=claims_count,
        graces=tuple(_grace_rows(graces[:MOST_SHOWN], today)),
        graces_count=graces.count(),
        findings=tuple(_finding_rows(findings[:MOST_SHOWN], today)),
        findings_count=findings.count(),
        registrations=tuple(_registration_rows(registrations[:MOST_SHOWN], today)),
        registrations_count=registrations.count(),
        films=tuple(
            RoofDue(roof=roof, since=roof.completed_on) for roof in films[:MOST_SHOWN]
        ),
        films_count=films.count(),
    )


def _claims(
    scope: Scope, *, today: date, now: datetime
) -> tuple[tuple[ClaimDue, ...], int]:
    """Return the claims to answer, those whose time ends first, and how many."""
    claims = claims_visible_to(scope).filter(status=ClaimStatus.REPORTED)
    due = F("answer_due_on").asc(nulls_last=True)
    rows = list(claims.order_by(due, "noticed_on", "pk")[:MOST_SHOWN])
    clocks = clocks_of(rows, as_of=today, known_at=now)
    found = (ClaimDue(claim=row, clock=clocks.get(row.pk)) for row in rows)
    return tuple(found), claims.count()


def _promised(scope: Scope) -> QuerySet[Roof]:
    roofs = roofs_visible_to(scope).filter(coach__merged_into__isnull=True)
    return roofs.select_related("standing", "coverage__edition")


def _in_grace(scope: Scope, editions: list[Edition], today: date) -> QuerySet[Roof]:
    """Return the roofs whose inspection is past its due day and not yet too late.

    Asked by the edition's days, not by the stored word: the night's sweep may not
    have come by yet.
    """
    span = Q(pk__in=[])
    for edition in editions:
        first = today - timedelta(days=edition.grace_days)
        span |= Q(
            coverage__edition=edition,
            standing__next_due_on__gte=first,
            standing__next_due_on__lt=today,
        )
    lively = [Standing.IN_FORCE, Standing.AT_RISK]
    roofs = _promised(scope).filter(span, standing__word__in=lively)
    return _by_limit(roofs, editions, "standing__next_due_on", "grace_days")


def _grace_rows(roofs: QuerySet[Roof], today: date) -> Iterator[RoofDue]:
    for roof in roofs:
        yield _due(
            roof,
            today,
            since=roof.standing.next_due_on,
            limit_days=roof.coverage.edition.grace_days,
        )


def _serious(scope: Scope, editions: list[Edition], today: date) -> QuerySet[Finding]:
    """Return the open serious findings whose cure days end soon, or have ended."""
    span = Q(pk__in=[])
    for edition in editions:
        last = today + AHEAD - timedelta(days=edition.serious_cure_days)
        span |= Q(roof__coverage__edition=edition, happened_on__lte=last)
    told = Finding.objects.filter(
        span,
        severity=Severity.SERIOUS,
        is_void=False,
        roof__standing__word__in=[Standing.AT_RISK, Standing.SUSPENDED],
        roof__coach__merged_into__isnull=True,
    )
    cured = Cure.objects.filter(finding=OuterRef("pk"), is_void=False)
    later = Finding.objects.filter(roof=OuterRef("roof"), supersedes=OuterRef("uuid"))
    told = told.exclude(Exists(cured)).exclude(Exists(later))
    told = told.select_related("roof__coach__holder", "roof__coverage__edition")
    mine = within(told, scope, owner_path="roof__coach__holder_id")
    return _by_limit(mine, editions, "happened_on", "serious_cure_days", "roof__")


def _finding_rows(findings: QuerySet[Finding], today: date) -> Iterator[RoofDue]:
    for found in findings:
        yield _due(
            found.roof,
            today,
            since=found.happened_on,
            limit_days=found.roof.coverage.edition.serious_cure_days,
            what=found.cause or found.penetration_label,
        )


def _unregistered(scope: Scope, editions: list[Edition], today: date) -> QuerySet[Roof]:
    """Return the finished roofs that nobody registered, while it can be done."""
    span = Q(pk__in=[])
    for edition in editions:
        first = today - timedelta(days=edition.registration_days)
        span |= Q(
            coverage__edition=edition,
            completed_on__gte=first,
            completed_on__lte=first + AHEAD,
        )
    roofs = _promised(scope).filter(span, standing__word=Standing.PENDING)
    unknown = _with_verdict(roofs, Clause.REGISTERED, "U")
    return _by_limit(unknown, editions, "completed_on", "registration_days")


def _registration_rows(roofs: QuerySet[Roof], today: date) -> Iterator[RoofDue]:
    for roof in roofs:
        yield _due(
            roof,
            today,
            since=roof.completed_on,
            limit_days=roof.coverage.edition.registration_days,
        )


def _by_limit(
    rows: QuerySet[AnyModel],
    editions: list[Edition],
    since: str,
    days: str,
    path: str = "",
) -> QuerySet[AnyModel]:
    """Order rows by the last day of a limit that each edition sets its own way."""
    name = f"{path}coverage__edition"
    spans = [
        When(**{name: each}, then=Value(timedelta(days=getattr(each, days))))
        for each in editions
    ]
    span = Case(*spans, default=Value(timedelta(0)), output_field=DurationField())
    limit = ExpressionWrapper(F(since) + span, output_field=DateTimeField())
    return rows.order_by(limit, since, "pk")


def _films(scope: Scope) -> QuerySet[Roof]:
    """Return the roofs whose promise waits for a film that was not accepted."""
    roofs = _promised(scope).filter(standing__word=Standing.PENDING)
    refused = _with_verdict(roofs, Clause.FILM, "N")
    return refused.order_by(F("completed_on").desc(nulls_last=True), "pk")


def _with_verdict(roofs: QuerySet[Roof], clause: Clause, letter: str) -> QuerySet[Roof]:
    place = CLAUSE_CODE[clause] + 1  # a database counts from one
    return roofs.alias(letter=Substr("standing__verdicts", place, 1)).filter(
        letter=letter
    )
