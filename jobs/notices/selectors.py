"""Which messages a caller may see, and the lists of them."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from fleet.models import Owner
from fleet.scope import Scope
from fleet.selectors.scopes import within
from jobs.models import (
    NEEDS_A_LOOK,
    Message,
    MessageState,
    Notice,
    StoppedAddress,
    Wish,
)
from jobs.paging import Listed, listed

PAGE_MESSAGES = 50
LOOK = "look"  # every state that a person has to look at


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageQuery:
    """What somebody asks of the list of messages."""

    words: str = ""
    state: str = ""
    step: str = ""
    next_first: bool = False
    page: int = 1


def messages_visible_to(scope: Scope) -> QuerySet[Message]:
    """Return the messages a caller may see: after a sale not the former holder's."""
    rows = Message.objects.select_related("owner", "roof__coach")
    return within(rows, scope, owner_path="owner_id")


def notices_visible_to(scope: Scope) -> QuerySet[Notice]:
    """Return the notices a caller may see, with their message."""
    rows = Notice.objects.select_related("roof__coach", "message", "claim", "owner")
    return within(rows, scope, owner_path="owner_id")


def message_list(scope: Scope, asked: MessageQuery) -> Listed[Message]:
    """Return a page of messages, the newest first unless asked."""
    rows = messages_visible_to(scope)
    if asked.words:
        of_coach = Notice.objects.filter(
            message=OuterRef("pk"), roof__coach__unit_no__iexact=asked.words
        )
        rows = rows.filter(
            Q(owner__name__icontains=asked.words)
            | Q(address__iexact=asked.words)
            | Exists(of_coach)
        )
    if asked.state == LOOK:
        rows = rows.filter(state__in=NEEDS_A_LOOK)
    elif asked.state:
        rows = rows.filter(state=asked.state)
    if asked.step:
        rows = rows.filter(
            Exists(Notice.objects.filter(message=OuterRef("pk"), step=asked.step))
        )
    order = ("send_at", "pk") if asked.next_first else ("-pk",)
    rows = rows.order_by(*order).prefetch_related("notices", "text_notices")
    return listed(rows, page=asked.page, size=PAGE_MESSAGES)


def message_counts(scope: Scope) -> dict[str, int]:
    """Return how many messages are in each state."""
    rows = within(Message.objects.all(), scope, owner_path="owner_id")
    found = dict(
        rows.values("state").annotate(count=Count("pk")).values_list("state", "count")
    )
    return {state: found.get(state, 0) for state in MessageState.values}


def notices_of(message: Message) -> list[Notice]:
    """Return what a message tells, in the order it tells it."""
    rows = Notice.objects.filter(Q(message=message) | Q(text_message=message))
    return list(
        rows.select_related("roof__coach", "claim", "owner").order_by(
            "roof__coach__unit_no", "pk"
        )
    )


def stop_of(address: str) -> StoppedAddress | None:
    """Return why nothing is sent to an address, if so."""
    return StoppedAddress.objects.filter(
        address=address.strip().lower(), released_at__isnull=True
    ).first()


def wish_of(owner: Owner) -> Wish | None:
    """Return how an owner wants to be written to, if it was recorded."""
    return Wish.objects.filter(owner=owner).first()


def message_by_uuid(uuid: str) -> Message | None:
    """Return the message that a signed link names."""
    return Message.objects.select_related("owner").filter(uuid=uuid).first()
