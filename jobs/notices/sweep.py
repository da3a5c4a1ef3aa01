"""The recurring look at roofs whose day has come: notes what is owed, once.

A look locks its watches, so two sweeps never judge one roof at the same time, and the
database refuses a second notice of one roof, step, date and person. Notices, messages
and the runs that send them commit together, or not at all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import Q

from jobs import runs
from jobs.models import Channel, Lane, Message, MessageState, Notice, NoticeWatch, Wish
from jobs.notices.judging import Owed, next_look, owed_to, sending_time
from jobs.notices.kinds import SEND_MESSAGE
from jobs.work import Effect, Work
from warranty.rules.courtesy import Courtesy
from warranty.rules.ladder import Step
from warranty.selectors.notices import roof_notice_facts

BATCH = 200
# News of claims is looked for so far back; later it would be told too late.
NEWS_FOR = timedelta(days=30)
# What is worth a text message, to who has agreed to them.
URGENT = frozenset({Step.ON_THE_DAY, Step.LAST_GRACE_WEEK, Step.SUSPENDED})

# Owner and roof; without a roof it is the digest of a fleet.
Place = tuple[int, int | None]
Group = tuple[Place, datetime]


def sweep_notices(work: Work) -> Effect:
    """Look at every roof whose day has come, a batch a transaction."""
    looked = noted = 0
    while True:
        with work.writing():
            batch, made = look(now=work.clock(), limit=BATCH)
        looked, noted = looked + batch, noted + made
        work.progress.step(f"{looked} roofs looked at", steps=batch)
        if batch < BATCH:
            break

    def count() -> Mapping[str, object]:
        return {"looked": looked, "noted": noted}

    return count


def courtesy() -> Courtesy:
    """Return when people are left in peace, by the settings."""
    quiet_from, quiet_until = settings.QUIET_HOURS
    return Courtesy(
        quiet_from=quiet_from, quiet_until=quiet_until, holidays=settings.HOLIDAYS
    )


def look(*, now: datetime, limit: int = BATCH) -> tuple[int, int]:
    """Look at some roofs; return how many, and how many notices were noted."""
    office = ZoneInfo(settings.OFFICE_TIME_ZONE)
    holidays = set(settings.HOLIDAYS)
    with transaction.atomic():
        watches = list(
            NoticeWatch.objects.select_for_update(skip_locked=True)
            .filter(look_at__lte=now)
            .order_by("look_at", "roof_id")[:limit]
        )
        if not watches:
            return 0, 0
        since = max(min(watch.since_at for watch in watches), now - NEWS_FOR)
        known = roof_notice_facts(
            [watch.roof_id for watch in watches], news_since=since
        )
        owed: list[Owed] = []
        for watch in watches:
            facts = known[watch.roof_id]
            owed += owed_to(watch, facts, now=now, holidays=holidays)
            watch.look_at = next_look(facts, now=now, holidays=holidays, office=office)
            watch.word = facts.word
        noted = note(owed, now=now)
        NoticeWatch.objects.bulk_update(watches, ["look_at", "word"])
    return len(watches), noted


def note(owed: Sequence[Owed], *, now: datetime) -> int:
    """Note what was not noted before, and the messages that tell it."""
    new = _not_noted(owed)
    if not new:
        return 0
    office, peace = ZoneInfo(settings.OFFICE_TIME_ZONE), courtesy()
    groups: dict[Group, list[Owed]] = defaultdict(list)
    for each in new:
        place = (each.owner.pk, None if each.is_of_fleet else each.roof_id)
        at = sending_time(each, now=now, courtesy=peace, office=office)
        groups[(place, at)].append(each)
    wishes = Wish.objects.in_bulk({each.owner.pk for each in new})
    messages = _messages(groups, wishes, now)
    texts = _text_messages(groups, wishes, now)
    Notice.objects.bulk_create(
        Notice(
            owner=each.owner,
            roof_id=each.roof_id,
            step=each.step.value,
            about_on=each.about_on,
            by_on=each.by_on,
            key=each.key,
            claim=each.claim,
            news=each.news,
            message=messages[group],
            text_message=texts.get(group) if each.step in URGENT else None,
            noted_at=now,
        )
        for group, of_group in groups.items()
        for each in of_group
    )
    return len(new)


def _not_noted(owed: Sequence[Owed]) -> list[Owed]:
    if not owed:
        return []
    same = Q(roof_id__in={each.roof_id for each in owed}) & Q(
        about_on__in={each.about_on for each in owed}
    )
    told = set(
        Notice.objects.filter(same).values_list(
            "roof_id", "step", "about_on", "owner_id", "key"
        )
    )
    new: dict[tuple[object, ...], Owed] = {}
    for each in owed:
        if each.identity not in told:
            new.setdefault(each.identity, each)
    return list(new.values())


def _messages(
    groups: Mapping[Group, list[Owed]], wishes: Mapping[int, Wish], now: datetime
) -> dict[Group, Message]:
    """Return a message a group: one that waits already, else a new one."""
    found = _waiting(groups, now)
    made = {
        group: _message(group, wishes, now, channel=Channel.EMAIL)
        for group in groups
        if group not in found
    }
    _start(list(made.values()), now)
    return found | made


def _waiting(groups: Mapping[Group, list[Owed]], now: datetime) -> dict[Group, Message]:
    """Return messages that wait for their hour and can tell this too.

    Each is taken by compare-and-swap, so none is sent while something joins it.
    """
    owners = {owner_id for (owner_id, _), _ in groups}
    waiting = {
        (row.owner_id, row.roof_id): row
        for row in Message.objects.filter(
            owner_id__in=owners,
            state=MessageState.WAITING,
            channel=Channel.EMAIL,
            attempts=0,
            send_at__gt=now,
        )
    }
    joined = {}
    for place, at in groups:
        row = waiting.get(place)
        if row is None or row.send_at > at:
            continue
        held = Message.objects.filter(
            pk=row.pk, state=MessageState.WAITING, attempts=0
        ).update(send_at=row.send_at)
        if held:
            joined[(place, at)] = row
    return joined


def _text_messages(
    groups: Mapping[Group, list[Owed]], wishes: Mapping[int, Wish], now: datetime
) -> dict[Group, Message]:
    if not settings.TEXT_GATEWAY:
        return {}
    made = {
        group: _message(group, wishes, now, channel=Channel.TEXT)
        for group, owed in groups.items()
        if any(each.step in URGENT for each in owed)
        and (wish := wishes.get(group[0][0])) is not None
        and wish.text_consent_at is not None
    }
    _start(list(made.values()), now)
    return made


def _message(
    group: Group, wishes: Mapping[int, Wish], now: datetime, *, channel: Channel
) -> Message:
    (owner_id, roof_id), at = group
    wish = wishes.get(owner_id)
    fields = {"language": wish.language} if wish else {}
    return Message(
        owner_id=owner_id,
        roof_id=roof_id,
        channel=channel,
        send_at=at,
        created_at=now,
        **fields,
    )


def _start(messages: list[Message], now: datetime) -> None:
    Message.objects.bulk_create(messages)
    start_sending(messages, now=now)


def start_sending(messages: Sequence[Message], *, now: datetime) -> None:
    """Note the runs that send messages, each at its hour."""
    runs.start_all(
        kind=SEND_MESSAGE,
        lane=Lane.NOTICES,
        rows=[
            ({"message": row.pk}, row.owner_id, max(row.send_at, now))
            for row in messages
        ],
        now=now,
    )
