"""What has to be known to tell people about their roofs, in a few queries a batch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.conf import settings
from django.db.models import QuerySet

from fleet.models import Coach, Owner, Roof
from warranty.models import (
    Claim,
    ClaimMove,
    ClaimReport,
    ClaimWait,
    Edition,
    Standing,
    WaitTurn,
)
from warranty.rules.clause import CLAUSE_CODE, Clause
from warranty.rules.clause import Standing as Word
from warranty.selectors.facts import coverage_facts

ALL_KNOWN = datetime.max.replace(tzinfo=UTC)
# A standing with an open serious finding has one of these words.
_MAY_HAVE_FINDINGS = frozenset({Word.AT_RISK.value, Word.SUSPENDED.value})


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimNews:
    """Something that happened to a claim, and who made the claim."""

    claim: Claim
    news: str  # REPORTED, WAIT, or a claim's move
    key: str
    happened_on: date
    recorded_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofNoticeFacts:
    """One roof as people are told of it."""

    roof: Roof
    coach: Coach
    holder: Owner | None  # who holds the coach; the kept one of merged owners
    zone: ZoneInfo
    edition: Edition | None
    standing: Standing | None
    registration_limit_on: date | None  # while nobody has registered
    cure_limits: tuple[date, ...]  # of open serious findings
    claims: tuple[ClaimNews, ...]

    @property
    def word(self) -> str:
        """The standing's word; empty without a promise."""
        return self.standing.word if self.standing else ""

    @property
    def due_on(self) -> date | None:
        """The next due date while there is a promise that has not ended."""
        if self.standing is None or self.standing.word == Word.ENDED.value:
            return None
        return self.standing.next_due_on

    @property
    def grace_until(self) -> date | None:
        """The last day of the grace."""
        if self.due_on is None or self.edition is None:
            return None
        return self.due_on + timedelta(days=self.edition.grace_days)

    @property
    def reinstate_until(self) -> date | None:
        """The last day on which a suspended promise comes back."""
        if self.grace_until is None or self.edition is None:
            return None
        return self.grace_until + timedelta(days=self.edition.reinstatement_days)


def roof_notice_facts(
    roof_ids: Iterable[int], *, news_since: datetime
) -> dict[int, RoofNoticeFacts]:
    """Return the facts by roof; of claims only what was recorded since."""
    ids = list(roof_ids)
    roofs = list(_roofs().filter(pk__in=ids))
    cures = _cure_limits(roofs)
    news = _claim_news(ids, news_since)
    return {
        roof.pk: RoofNoticeFacts(
            roof=roof,
            coach=roof.coach,
            holder=_kept(roof.coach.holder),
            zone=zone_of(roof.coach.time_zone),
            edition=_edition(roof),
            standing=getattr(roof, "standing", None),
            registration_limit_on=_registration_limit(roof),
            cure_limits=tuple(cures.get(roof.pk, ())),
            claims=tuple(news.get(roof.pk, ())),
        )
        for roof in roofs
    }


def zone_of(name: str) -> ZoneInfo:
    """Return a coach's zone, or the office's where it is not known."""
    try:
        return ZoneInfo(name or settings.OFFICE_TIME_ZONE)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo(settings.OFFICE_TIME_ZONE)


def _roofs() -> QuerySet[Roof]:
    return Roof.objects.select_related(
        "coach",
        "coach__holder",
        "coach__holder__merged_into",
        "standing",
        "coverage",
        "coverage__edition",
    )


def _kept(owner: Owner | None) -> Owner | None:
    return owner.merged_into or owner if owner else None


def _edition(roof: Roof) -> Edition | None:
    coverage = getattr(roof, "coverage", None)
    return coverage.edition if coverage else None


def _registration_limit(roof: Roof) -> date | None:
    standing, edition = getattr(roof, "standing", None), _edition(roof)
    if standing is None or edition is None or roof.completed_on is None:
        return None
    place = CLAUSE_CODE[Clause.REGISTERED]
    # Not known: nobody has registered, and the limit has not passed.
    if standing.word != Word.PENDING.value or standing.verdicts[place] != "U":
        return None
    return roof.completed_on + timedelta(days=edition.registration_days)


def _cure_limits(roofs: list[Roof]) -> dict[int, list[date]]:
    """Return until when each open serious finding has to be cured."""
    likely = [
        roof.pk
        for roof in roofs
        if getattr(getattr(roof, "standing", None), "word", "") in _MAY_HAVE_FINDINGS
    ]
    if not likely:
        return {}
    return {
        roof_id: sorted(
            finding.found_on + timedelta(days=found.promise.edition.serious_cure_days)
            for finding in found.facts.findings
            if finding.cured_on is None
        )
        for roof_id, found in coverage_facts(likely, known_at=ALL_KNOWN).items()
    }


def _claim_news(roof_ids: list[int], since: datetime) -> dict[int, list[ClaimNews]]:
    found: dict[int, list[ClaimNews]] = defaultdict(list)
    recent = {"roof_id__in": roof_ids, "recorded_at__gte": since, "is_void": False}
    joined = ("claim", "claim__holder", "claim__holder__merged_into")
    reports = ClaimReport.objects.filter(**recent, supersedes__isnull=True)
    for row in reports.select_related(*joined).order_by("pk"):
        found[row.roof_id].append(_news(row, "REPORTED", row.reported_on))
    for move in (
        ClaimMove.objects.filter(**recent).select_related(*joined).order_by("pk")
    ):
        found[move.roof_id].append(_news(move, move.move, move.happened_on))
    waits = ClaimWait.objects.filter(**recent, turn=WaitTurn.WAIT)
    for wait in waits.select_related(*joined).order_by("pk"):
        found[wait.roof_id].append(_news(wait, "WAIT", wait.happened_on))
    return found


def _news(
    row: ClaimReport | ClaimMove | ClaimWait, news: str, happened_on: date
) -> ClaimNews:
    return ClaimNews(
        claim=row.claim,
        news=news,
        key=f"{news}:{row.uuid}",
        happened_on=happened_on,
        recorded_at=row.recorded_at,
    )
