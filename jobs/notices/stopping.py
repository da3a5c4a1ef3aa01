"""Addresses that nothing is sent to, wishes, and what the office decides by hand."""

from __future__ import annotations

from datetime import datetime

from django.db import IntegrityError, transaction

from fleet.actions.errors import InvalidValue
from fleet.errors import DomainError
from fleet.models import Owner
from jobs.models import (
    Language,
    Message,
    MessageState,
    StopCause,
    StoppedAddress,
    Wish,
)
from jobs.notices.sweep import start_sending

_SENT_AGAIN = (
    MessageState.UNCERTAIN,
    MessageState.REFUSED,
    MessageState.BOUNCED,
    MessageState.STOPPED,
    MessageState.UNREACHABLE,
)


class MessageMovedOn(DomainError):
    """The message is not in a state that this can be done from."""

    code = "message-moved-on"
    http_status = 409


def stop_address(
    address: str, *, cause: StopCause, detail: str, message: Message, now: datetime
) -> bool:
    """Send nothing to an address any more; return whether it was not stopped yet."""
    try:
        with transaction.atomic():
            StoppedAddress.objects.create(
                address=address.strip().lower(),
                cause=cause,
                detail=detail,
                message=message,
                stopped_at=now,
            )
    except IntegrityError:
        return False
    return True


def is_stopped(address: str) -> bool:
    """Return whether nothing is sent to this address."""
    return StoppedAddress.objects.filter(
        address=address.strip().lower(), released_at__isnull=True
    ).exists()


def release_address(stop: StoppedAddress, *, now: datetime) -> None:
    """Send to an address again: the office knows that it works."""
    StoppedAddress.objects.filter(pk=stop.pk, released_at__isnull=True).update(
        released_at=now
    )


def turn_reminders(owner: Owner, *, off: bool, now: datetime) -> None:
    """Note that an owner wants no reminders any more, or wants them again."""
    # A link from before two owners were found to be one still counts.
    kept = owner.merged_into or owner
    Wish.objects.update_or_create(
        owner=kept, defaults={"reminders_off_at": now if off else None}
    )


def set_wish(
    owner: Owner,
    *,
    language: str,
    text_number: str,
    text_consent_how: str,
    now: datetime,
) -> Wish:
    """Record how an owner wants to be written to; consent needs a number and a how.

    Raises:
        InvalidValue: the language is not known, or the consent is only half given.
    """
    if language not in Language.values:
        raise InvalidValue("language", "Choose English or Spanish.")
    number, how = text_number.strip(), text_consent_how.strip()
    if bool(number) != bool(how):
        raise InvalidValue(
            "text_consent_how",
            "A text message needs a number and how the owner agreed to it: give both, "
            "or neither.",
        )
    known = Wish.objects.filter(owner=owner).first()
    is_same = known and (known.text_number, known.text_consent_how) == (number, how)
    agreed_at = known.text_consent_at if known and is_same else now
    wish, _ = Wish.objects.update_or_create(
        owner=owner,
        defaults={
            "language": language,
            "text_number": number,
            "text_consent_how": how,
            "text_consent_at": agreed_at if number else None,
        },
    )
    return wish


def send_again(message: Message, *, now: datetime) -> None:
    """Have a message sent once more, under the same Message-ID.

    Raises:
        MessageMovedOn: it waits, is being sent, or was sent.
    """
    with transaction.atomic():
        moved = Message.objects.filter(pk=message.pk, state__in=_SENT_AGAIN).update(
            state=MessageState.WAITING,
            send_at=now,
            handed_at=None,
            attempts=0,
            reason="",
        )
        if not moved:
            raise MessageMovedOn("This message is not one to send again. Read it anew.")
        message.refresh_from_db()
        start_sending([message], now=now)


def mark_arrived(message: Message, *, now: datetime) -> None:
    """Note that a message of which nobody knew has arrived after all.

    Raises:
        MessageMovedOn: it is not one of which nobody knows.
    """
    moved = Message.objects.filter(pk=message.pk, state=MessageState.UNCERTAIN).update(
        state=MessageState.SENT, sent_at=now
    )
    if not moved:
        raise MessageMovedOn("This message is known to be sent or not. Read it anew.")
