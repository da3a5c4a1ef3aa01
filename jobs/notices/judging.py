"""What one roof's owner is owed on a day, and when to look again. No query here."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from fleet.models import Owner, OwnerKind
from jobs.models import NoticeWatch
from warranty.models import Claim
from warranty.rules.clause import Standing
from warranty.rules.courtesy import Courtesy, instant_of, local_day, send_at
from warranty.rules.ladder import (
    Rung,
    Step,
    deadline_rung,
    inspection_rungs,
    next_rung_on,
    rung_of_day,
)
from warranty.selectors.notices import ClaimNews, RoofNoticeFacts

# After a standing's day has come, its reassessment needs a moment. Project convention.
AFTER_THE_TURN = timedelta(minutes=2)
# So long an urgent digest waits for the rest of its sweep. Project convention.
GATHERED_FOR = timedelta(minutes=2)
_HOLDS = frozenset({Standing.IN_FORCE.value, Standing.AT_RISK.value})
_TURNS = {Standing.SUSPENDED.value: Step.SUSPENDED, Standing.ENDED.value: Step.ENDED}


@dataclass(frozen=True, slots=True, kw_only=True)
class Owed:
    """One notice that somebody is owed."""

    roof_id: int
    owner: Owner
    zone: ZoneInfo
    step: Step
    about_on: date
    by_on: date | None
    key: str = ""
    claim: Claim | None = None
    news: str = ""

    @property
    def identity(self) -> tuple[int, str, date, int, str]:
        """What it is told once by, as the database has it."""
        return (self.roof_id, self.step.value, self.about_on, self.owner.pk, self.key)

    @property
    def is_of_fleet(self) -> bool:
        """Whether it goes into a digest."""
        return self.owner.kind == OwnerKind.RENTAL_FLEET


def owed_to(
    watch: NoticeWatch, facts: RoofNoticeFacts, *, now: datetime, holidays: set[date]
) -> Iterator[Owed]:
    """Yield what is owed about one roof at this moment."""
    today = local_day(now, facts.zone)
    since = local_day(watch.since_at, facts.zone)
    if facts.holder is not None:
        for rungs in _ladders(facts, holidays):
            rung = rung_of_day(rungs, today, since=since)
            if rung is not None:
                yield _owed(facts, facts.holder, rung.step, rung.about_on, rung.by_on)
        step = _turn(watch.word, facts.word)
        if step is not None:
            by_on = _last_day(step, facts, today)
            yield _owed(facts, facts.holder, step, today, by_on)
    for news in facts.claims:
        holder = news.claim.holder
        if holder is not None and news.recorded_at >= watch.since_at:
            yield _news(facts, holder.merged_into or holder, news)


def next_look(
    facts: RoofNoticeFacts, *, now: datetime, holidays: set[date], office: ZoneInfo
) -> datetime | None:
    """Return when this roof's next step or its standing's next day comes."""
    today = local_day(now, facts.zone)
    steps = [next_rung_on(rungs, today) for rungs in _ladders(facts, holidays)]
    moments = [instant_of(day, time(0), facts.zone) for day in steps if day is not None]
    turns_on = facts.standing.holds_until if facts.standing else None
    if turns_on is not None:
        turn = instant_of(turns_on + timedelta(days=1), time(0), office)
        # Passed already: the reassessment is late, so ask again in a while.
        moments.append(max(turn, now) + AFTER_THE_TURN)
    return min(moments, default=None)


def sending_time(
    owed: Owed, *, now: datetime, courtesy: Courtesy, office: ZoneInfo
) -> datetime:
    """Return when it may go out: by the coach's clock, a digest by the office's.

    A digest goes out in the morning: what is found later waits for the next one,
    unless its deadline would pass.
    """
    if not owed.is_of_fleet:
        return send_at(now, zone=owed.zone, courtesy=courtesy, by_on=owed.by_on)
    today = local_day(now, office)
    opens = instant_of(today, courtesy.quiet_until, office)
    if now <= opens:
        return send_at(now, zone=office, courtesy=courtesy, by_on=owed.by_on)
    tomorrow = instant_of(today + timedelta(days=1), time(0), office)
    morning = send_at(tomorrow, zone=office, courtesy=courtesy, by_on=owed.by_on)
    if owed.by_on is not None and today <= owed.by_on < local_day(morning, office):
        soon = now + GATHERED_FOR
        return send_at(soon, zone=office, courtesy=courtesy, by_on=owed.by_on)
    return morning


def _ladders(
    facts: RoofNoticeFacts, holidays: Collection[date]
) -> Iterator[tuple[Rung, ...]]:
    edition = facts.edition
    if edition is None:
        return
    if facts.due_on is not None:
        yield inspection_rungs(
            facts.due_on, grace_days=edition.grace_days, holidays=holidays
        )
    if facts.registration_limit_on is not None:
        yield (
            deadline_rung(
                Step.REGISTRATION,
                facts.registration_limit_on,
                allowed_days=edition.registration_days,
                holidays=holidays,
            ),
        )
    for limit in facts.cure_limits:
        yield (
            deadline_rung(
                Step.CURE,
                limit,
                allowed_days=edition.serious_cure_days,
                holidays=holidays,
            ),
        )


def _turn(told: str, word: str) -> Step | None:
    """Return the news in a standing that differs from the one last told."""
    if not told or told == word:
        return None
    if told == Standing.SUSPENDED.value and word in _HOLDS:
        return Step.REINSTATED
    return _TURNS.get(word)


def _last_day(step: Step, facts: RoofNoticeFacts, today: date) -> date | None:
    """Return until when a suspended roof can be reinstated; a serious finding sets no
    last day of its own."""
    grace_until = facts.grace_until
    if step is not Step.SUSPENDED or grace_until is None or grace_until >= today:
        return None
    return facts.reinstate_until


def _owed(
    facts: RoofNoticeFacts, owner: Owner, step: Step, about_on: date, by_on: date | None
) -> Owed:
    return Owed(
        roof_id=facts.roof.pk,
        owner=owner,
        zone=facts.zone,
        step=step,
        about_on=about_on,
        by_on=by_on,
    )


def _news(facts: RoofNoticeFacts, owner: Owner, news: ClaimNews) -> Owed:
    return Owed(
        roof_id=facts.roof.pk,
        owner=owner,
        zone=facts.zone,
        step=Step.CLAIM,
        about_on=news.happened_on,
        by_on=None,
        key=news.key,
        claim=news.claim,
        news=news.news,
    )
