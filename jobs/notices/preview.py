"""What each step would say about a roof on record, without noting or sending it."""

from __future__ import annotations

from datetime import datetime, timedelta

from fleet.models import OwnerKind, Roof
from jobs.models import Message, Notice
from jobs.notices.writing import Draft, draft
from warranty.models import Claim
from warranty.rules.ladder import Step
from warranty.selectors.notices import RoofNoticeFacts, roof_notice_facts


def previewed(
    roof: Roof, *, step: Step, language: str, news: str, now: datetime
) -> Draft | None:
    """Return the message of one step about one roof; None while nobody holds it."""
    facts = roof_notice_facts([roof.pk], news_since=now)[roof.pk]
    owner = facts.holder
    if owner is None:
        return None
    claim = _newest_claim(roof) if step is Step.CLAIM else None
    if step is Step.CLAIM and claim is None:
        return None
    is_fleet = owner.kind == OwnerKind.RENTAL_FLEET
    message = Message(owner=owner, roof=None if is_fleet else roof, language=language)
    about_on, by_on = _days(step, facts, now)
    notice = Notice(
        owner=owner,
        roof=roof,
        step=step.value,
        about_on=about_on,
        by_on=by_on,
        claim=claim,
        news=news if claim else "",
    )
    return draft(message, [notice], {roof.pk: facts}, now=now)


def _newest_claim(roof: Roof) -> Claim | None:
    return Claim.objects.filter(roof=roof).order_by("-pk").first()


def _days(step: Step, facts: RoofNoticeFacts, now: datetime) -> tuple[object, object]:
    today = now.astimezone(facts.zone).date()
    if step is Step.REGISTRATION:
        limit = facts.registration_limit_on or today + timedelta(days=7)
        return limit, limit
    if step is Step.CURE:
        limit = min(facts.cure_limits, default=today + timedelta(days=7))
        return limit, limit
    if step in {Step.MID_GRACE, Step.LAST_GRACE_WEEK}:
        return facts.due_on or today, facts.grace_until
    if step is Step.SUSPENDED:
        return today, facts.reinstate_until
    if step in {Step.REINSTATED, Step.ENDED, Step.CLAIM}:
        return today, None
    return facts.due_on or today, facts.due_on
