"""A message from its notices and today's facts: subject, text, HTML, files, dates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from fleet.models import Coach, Owner, OwnerKind
from jobs.models import Message, Notice
from jobs.notices import links
from jobs.notices.event import Event, calendar
from jobs.notices.sheet import csv_bytes, xlsx_bytes
from jobs.notices.words import Wording, Words
from jobs.notices.words_en import ENGLISH
from jobs.notices.words_es import SPANISH
from warranty.rules.clause import Standing
from warranty.rules.ladder import REMINDERS, Step
from warranty.selectors.notices import RoofNoticeFacts

LANGUAGES: Final[Mapping[str, Words]] = {"en": ENGLISH, "es": SPANISH}
_SUBJECT_LENGTH = 200
_NAME_LENGTH = 120
_LADDER = REMINDERS - {Step.REGISTRATION, Step.CURE}
_HOLDS = frozenset({Standing.IN_FORCE.value, Standing.AT_RISK.value})
# What an event is about, and how often its last day can have moved within it.
_EVENTS = {
    **dict.fromkeys(_LADDER, ("inspection", 0)),
    Step.MID_GRACE: ("inspection", 1),
    Step.LAST_GRACE_WEEK: ("inspection", 1),
    Step.REGISTRATION: ("registration", 0),
    Step.CURE: ("cure", 0),
    Step.SUSPENDED: ("reinstatement", 0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One notice in words."""

    unit_no: str
    coach: str
    vin: str
    subject: str
    what: str
    by: str
    otherwise: str
    short: str
    by_on: date | None
    by_day: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """One file of a message."""

    name: str
    content: bytes
    media_type: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One message, ready to be sent."""

    subject: str
    text: str
    html: str
    attachments: tuple[Attachment, ...]
    items: tuple[Item, ...]
    stop_url: str  # empty: nothing in it can be silenced
    short: str  # for a text message


def is_moot(notice: Notice, facts: RoofNoticeFacts) -> bool:
    """Return whether what was owed is no longer true, or no longer this owner's."""
    step = Step(notice.step)
    if step is Step.CLAIM:
        return False
    if facts.holder is None or facts.holder.pk != notice.owner_id:
        return True
    if step in _LADDER:
        return facts.due_on != notice.about_on
    if step is Step.REGISTRATION:
        return facts.registration_limit_on != notice.about_on
    if step is Step.CURE:
        return notice.about_on not in facts.cure_limits
    if step is Step.REINSTATED:
        return facts.word not in _HOLDS
    return facts.word != step.value


def superseded(notices: Sequence[Notice]) -> list[Notice]:
    """Return the reminders of a date that a later step of the same date replaces."""
    last: dict[tuple[int, date], Notice] = {}
    earlier = []
    order = list(Step)
    for notice in sorted(notices, key=lambda each: order.index(Step(each.step))):
        if Step(notice.step) not in _LADDER:
            continue
        place = (notice.roof_id, notice.about_on)
        if place in last:
            earlier.append(last[place])
        last[place] = notice
    return earlier


def draft(
    message: Message,
    notices: Sequence[Notice],
    facts: Mapping[int, RoofNoticeFacts],
    *,
    now: datetime,
) -> Draft:
    """Return the message that tells these notices; there is at least one."""
    words, owner = LANGUAGES[message.language], message.owner
    items = tuple(_item(notice, facts[notice.roof_id], words) for notice in notices)
    is_digest = message.roof_id is None
    has_reminder = any(Step(notice.step) in REMINDERS for notice in notices)
    stop_url = links.stop_url(owner.uuid) if has_reminder else ""
    show_url = links.show_url(message.uuid)
    if is_digest:
        show_url = settings.SITE_URL + reverse("roof-list") + "?sort=due"
    name = " ".join(owner.name.split())[:_NAME_LENGTH]
    greeting = words.fleet_greeting if _is_fleet(owner) else words.greeting
    subject = _subject(items, is_digest, words)
    context = {
        "words": words,
        "subject": subject,
        "language": message.language,
        "greeting": greeting.format(name=name),
        "items": items,
        "is_digest": is_digest,
        "url": show_url,
        "button": words.fleet_button if is_digest else words.button,
        "caution": words.caution if has_reminder else "",
        "stop_url": stop_url,
        "company": settings.COMPANY_NAME,
        "address": settings.COMPANY_ADDRESS,
    }
    return Draft(
        subject=subject,
        text=_text(context, words),
        html=render_to_string("jobs/notices/mail.html", context),
        attachments=(
            *(_files(items, words) if is_digest else ()),
            *_calendar(notices, items, facts, show_url, words, now),
        ),
        items=items,
        stop_url=stop_url,
        short=f"{settings.COMPANY_NAME}: {items[0].unit_no}, {items[0].short}.",
    )


def _is_fleet(owner: Owner) -> bool:
    return owner.kind == OwnerKind.RENTAL_FLEET


def _subject(items: Sequence[Item], is_digest: bool, words: Words) -> str:  # noqa: FBT001 - one of two kinds
    coaches = {item.unit_no for item in items}
    if is_digest and len(coaches) > 1:
        subject = words.digest_subject.format(count=len(coaches))
    elif len(items) > 1:
        subject = words.several_subject.format(unit=items[0].unit_no)
    else:
        subject = items[0].subject
    # One line, whatever a coach is called.
    return " ".join(subject.split())[:_SUBJECT_LENGTH]


def _wording(notice: Notice, words: Words) -> Wording:
    step = Step(notice.step)
    if step is Step.CLAIM:
        return words.claims.get(notice.news, words.steps[step])
    if step is Step.SUSPENDED and notice.by_on is None:
        return words.suspended_by_finding
    return words.steps[step]


def _item(notice: Notice, facts: RoofNoticeFacts, words: Words) -> Item:
    said, coach = _wording(notice, words), facts.coach
    claim = notice.claim
    window = None
    if facts.due_on and facts.edition:
        window = facts.due_on - timedelta(days=facts.edition.window_days)

    def day(value: date | None) -> str:
        return words.on(value) if value else words.none

    slots = {
        "unit": coach.unit_no,
        "coach": described(coach),
        "due": day(facts.due_on),
        "window": day(window),
        "grace": day(facts.grace_until),
        "about": words.on(notice.about_on),
        "by": day(notice.by_on),
        "ref": claim.ref if claim else "",
        "answer": day(claim.answer_due_on if claim else None),
    }
    by_on = claim.answer_due_on if claim else notice.by_on
    return Item(
        unit_no=coach.unit_no,
        coach=described(coach),
        vin=coach.vin,
        subject=said.subject.format_map(slots),
        what=said.what.format_map(slots),
        by=said.by.format_map(slots),
        otherwise=said.otherwise.format_map(slots),
        short=said.short.format_map(slots),
        by_on=by_on,
        by_day=day(by_on),
    )


def described(coach: Coach) -> str:
    """Return a coach as its owner knows it, e.g. ``HL-7001 (2014 Tern Wanderer)``."""
    parts = [str(coach.model_year or ""), coach.make, coach.model]
    model = " ".join(part for part in parts if part)
    return f"{coach.unit_no} ({model})" if model else coach.unit_no


def _text(context: Mapping[str, object], words: Words) -> str:
    """Return the plain text: what, which coach, by when, what if not, one address."""
    blocks = [str(context["greeting"])]
    items: Sequence[Item] = context["items"]  # type: ignore[assignment]  # items
    if context["is_digest"]:
        blocks.append(words.digest_opening)
        blocks += [
            f"* {i.coach}: {i.short} — {words.by_label}: {i.by_day}" for i in items
        ]
    else:
        for item in items:
            blocks.append(item.what)
            if item.by:
                blocks.append(f"{words.by_label}: {item.by}")
            if item.otherwise:
                blocks.append(f"{words.otherwise_label}: {item.otherwise}")
    if context["caution"]:
        blocks.append(str(context["caution"]))
    blocks.append(f"{context['button']}: {context['url']}")
    blocks.append(f"{context['company']}\n{context['address']}")
    blocks.append(f"{words.why_you} {words.law}")
    stop_url = context["stop_url"]
    if stop_url:
        blocks.append(f"{words.stop_label}: {stop_url}\n{words.stop_note}")
    return "\n\n".join(blocks) + "\n"


def _files(items: Sequence[Item], words: Words) -> tuple[Attachment, ...]:
    number, _coach, what, by_when = words.table_heads
    heads = (number, "VIN", _coach, what, by_when)
    rows = [
        (item.unit_no, item.vin, item.coach, item.short, item.by_on or "")
        for item in items
    ]
    return (
        Attachment(
            name="roofs.xlsx",
            content=xlsx_bytes(heads, rows),
            media_type="application/vnd.openxmlformats-officedocument."
            "spreadsheetml.sheet",
        ),
        Attachment(
            name="roofs.csv", content=csv_bytes(heads, rows), media_type="text/csv"
        ),
    )


def _calendar(
    notices: Sequence[Notice],
    items: Sequence[Item],
    facts: Mapping[int, RoofNoticeFacts],
    url: str,
    words: Words,
    now: datetime,
) -> tuple[Attachment, ...]:
    events: dict[str, Event] = {}
    for notice, item in zip(notices, items, strict=True):
        kind = _EVENTS.get(Step(notice.step))
        if kind is None or notice.by_on is None:
            continue
        about, sequence = kind
        roof = facts[notice.roof_id].roof
        uid = f"{about}-{notice.about_on}-{roof.uuid}@{links.host()}"
        events[uid] = Event(
            uid=uid,
            on=notice.by_on,
            summary=words.calendar_summary.format(unit=item.unit_no, short=item.short),
            description=" ".join((item.what, item.by, item.otherwise)).strip(),
            url=url,
            sequence=sequence,
        )
    if not events:
        return ()
    content = calendar(events.values(), now=now).encode("utf-8", "replace")
    return (
        Attachment(name="roof-dates.ics", content=content, media_type="text/calendar"),
    )
