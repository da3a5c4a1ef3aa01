"""Send one message: claimed first, handed over once, and never guessed about.

The order, and what a crash after each step means:

1. ``begin`` commits the attempt: the message is SENDING. A crash from here to 2 has
   sent nothing, so the next start begins again.
2. Right before the body goes out, ``handed_at`` is committed, fenced by the run's
   lease: a holder that was frozen and overtaken stops here.
3. The server answers 250, and SENT commits with the end of the run. A crash between
   2 and 3 leaves it unknown whether the mail arrived: the next start makes it
   UNCERTAIN, sends nothing, and a person of the office decides. The Message-ID is the
   message's own at every attempt, so a mail sent again shows as the same mail.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.core.mail import EmailMultiAlternatives

from fleet.selectors.demo import is_demo_here
from jobs import runs
from jobs.models import (
    Channel,
    Lane,
    Message,
    MessageState,
    Notice,
    StopCause,
    Wish,
)
from jobs.notices import links, texts, transport
from jobs.notices.kinds import TELL_OFFICE
from jobs.notices.stopping import is_stopped, stop_address
from jobs.notices.transport import Ending, Outcome
from jobs.notices.writing import Draft, draft, is_moot, superseded
from jobs.work import Effect, TryLater, Work
from warranty.rules.ladder import REMINDERS, Step
from warranty.selectors.notices import roof_notice_facts

# How long to wait after each attempt that the server put off; then it is given up.
# Nearly three days: a mail server away for a weekend loses nothing. [min]
PAUSES_MIN: Final = (1, 5, 15, 60, 240, 720, 1440, 1440)
KEEPS_FILES = "django.core.mail.backends.filebased.EmailBackend"
_LOST = "The runner stopped after handing it over: it may have arrived."


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """A message whose attempt is committed."""

    message: Message
    written: Draft


def send_message(work: Work) -> Effect:
    """Send one message, at most once a handing over. Safe to run again."""
    pk = int(str(work.payload["message"]))
    with work.writing():
        ready = begin(pk, work)
    if ready is None:
        return lambda: _told(pk)
    outcome = _hand_over(ready, work)
    if outcome.ending is Ending.LATER:
        return _put_off(ready.message, outcome, work)

    def effect() -> Mapping[str, object]:
        _settle(ready.message, outcome, work)
        return _told(pk)

    return effect


def begin(pk: int, work: Work) -> Ready | None:
    """Claim the message and write it; None when there is nothing to hand over."""
    message = Message.objects.select_for_update().get(pk=pk)
    if message.state == MessageState.SENDING:
        if message.handed_at is not None:
            _close(message, MessageState.UNCERTAIN, _LOST)
            _tell_office(message, work)
            return None
    elif message.state != MessageState.WAITING:
        return None
    wish = Wish.objects.filter(owner_id=message.owner_id).first()
    address, why = _address(message, wish)
    if why is not None:
        _close(message, why, "")
        if why is not MessageState.SILENCED:
            _tell_office(message, work)
        return None
    written = _written(message, wish, work)
    if written is None:
        return None
    now = work.clock()
    message.state = MessageState.SENDING
    message.attempts += 1
    message.attempted_at, message.handed_at = now, None
    message.address = address
    message.subject, message.text = written.subject, written.text
    message.save(
        update_fields=[
            *("state", "attempts", "attempted_at", "handed_at"),
            *("address", "subject", "text", "language"),
        ]
    )
    return Ready(message=message, written=written)


def _address(message: Message, wish: Wish | None) -> tuple[str, MessageState | None]:
    """Return where it goes, or why it goes nowhere."""
    if message.channel == Channel.TEXT:
        if wish is None or wish.text_consent_at is None or not settings.TEXT_GATEWAY:
            return "", MessageState.SILENCED
        return wish.text_number, None
    address = message.owner.email.strip()
    if not address:
        return "", MessageState.UNREACHABLE
    if is_stopped(address):
        return address, MessageState.STOPPED
    return address, None


def _written(message: Message, wish: Wish | None, work: Work) -> Draft | None:
    """Write what is still true and still wanted; close the message if nothing is."""
    told = message.text_notices if message.channel == Channel.TEXT else message.notices
    notices = list(
        told.select_related("claim", "owner").order_by("roof__coach__unit_no", "pk")
    )
    now = work.clock()
    facts = roof_notice_facts({notice.roof_id for notice in notices}, news_since=now)
    moot = superseded(notices)
    moot += [notice for notice in notices if is_moot(notice, facts[notice.roof_id])]
    if moot:
        Notice.objects.filter(pk__in=[n.pk for n in moot]).update(is_moot=True)
    left = [notice for notice in notices if notice not in moot]
    wanted = [
        notice
        for notice in left
        if not (wish and wish.reminders_off_at and Step(notice.step) in REMINDERS)
    ]
    if not wanted:
        _close(message, MessageState.SILENCED if left else MessageState.MOOT, "")
        return None
    if wish is not None:
        message.language = wish.language
    return draft(message, wanted, facts, now=now)


def mail_of(message: Message, written: Draft) -> EmailMultiAlternatives:
    """Return the mail with its headers, text, HTML and files."""
    headers = {
        "Message-ID": f"<{message.uuid}@{links.host()}>",
        # RFC 3834: no out-of-office answers to what nobody wrote.
        "Auto-Submitted": "auto-generated",
    }
    if written.stop_url:
        headers["List-Unsubscribe"] = f"<{written.stop_url}>"
        if written.stop_url.startswith("https://"):
            # RFC 8058, which asks for HTTPS.
            headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    mail = EmailMultiAlternatives(
        subject=written.subject,
        body=written.text,
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[message.address],
        headers=headers,
    )
    mail.attach_alternative(written.html, "text/html")
    for file in written.attachments:
        mail.attach(file.name, file.content, file.media_type)
    return mail


def backend_of_this_register() -> str | None:
    """Return the backend that keeps files where the records are invented: the demo
    never sends mail, whatever the settings say."""
    return KEEPS_FILES if is_demo_here() else None


def _hand_over(ready: Ready, work: Work) -> Outcome:
    message = ready.message

    def note_handed() -> None:
        with work.writing():
            Message.objects.filter(pk=message.pk).update(handed_at=work.clock())

    if message.channel == Channel.TEXT:
        return _hand_text_over(ready, note_handed)
    return transport.deliver(
        mail_of(message, ready.written),
        before_body=note_handed,
        backend=backend_of_this_register(),
    )


def _hand_text_over(ready: Ready, note_handed: Callable[[], None]) -> Outcome:
    adapter = texts.gateway()
    if adapter is None or is_demo_here():
        return Outcome(ending=Ending.REFUSED, reason="Text messages are switched off.")
    note_handed()
    return adapter.send(
        number=ready.message.address,
        text=ready.written.short,
        reference=str(ready.message.uuid),
    )


def _put_off(message: Message, outcome: Outcome, work: Work) -> Effect:
    """Wait and try again, or give up after the last pause."""
    if message.attempts > len(PAUSES_MIN):

        def give_up() -> Mapping[str, object]:
            reason = f"Given up after {message.attempts} attempts: {outcome.reason}"
            _close(message, MessageState.REFUSED, reason)
            _tell_office(message, work)
            return _told(message.pk)

        return give_up
    after = timedelta(minutes=PAUSES_MIN[message.attempts - 1])
    with work.writing():
        Message.objects.filter(pk=message.pk, state=MessageState.SENDING).update(
            state=MessageState.WAITING,
            handed_at=None,
            send_at=work.clock() + after,
            reason=outcome.reason,
        )
    raise TryLater(outcome.reason, after=after)


def _settle(message: Message, outcome: Outcome, work: Work) -> None:
    """Write down what the server said; in the transaction that ends the run."""
    now = work.clock()
    if outcome.ending is Ending.SENT:
        Message.objects.filter(pk=message.pk).update(
            state=MessageState.SENT, sent_at=now, reason=""
        )
        return
    if outcome.ending is Ending.UNKNOWN:
        _close(message, MessageState.UNCERTAIN, outcome.reason)
    else:
        _close(message, MessageState.REFUSED, outcome.reason)
        if outcome.is_bad_address:
            stop_address(
                message.address,
                cause=StopCause.REFUSED,
                detail=outcome.reason,
                message=message,
                now=now,
            )
    _tell_office(message, work)


def _close(message: Message, state: MessageState, reason: str) -> None:
    Message.objects.filter(pk=message.pk).update(state=state, reason=reason)


def _tell_office(message: Message, work: Work) -> None:
    tell_office(message, now=work.clock())


def tell_office(message: Message, *, now: datetime) -> None:
    """Note that the office is written to about a message, if it gave an address."""
    if settings.OFFICE_EMAIL:
        runs.start(
            kind=TELL_OFFICE,
            payload={"message": message.pk},
            by=None,
            now=now,
            lane=Lane.NOTICES,
        )


def write_to_office(work: Work) -> Effect:
    """Write to the office about a message that needs a look. Twice does no harm: it
    carries one Message-ID, and what counts is on the page of notices."""
    message = Message.objects.select_related("owner").get(
        pk=int(str(work.payload["message"]))
    )
    mail = EmailMultiAlternatives(
        subject=f"Not told: {message.owner.name}"[:150].replace("\n", " "),
        body=(
            f"A message to {message.owner.name} needs a look: "
            f"{message.get_state_display()}. {message.reason}\n\n"
            f"{settings.SITE_URL}/notices/{message.uuid}/\n"
        ),
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[settings.OFFICE_EMAIL],
        headers={
            "Message-ID": f"<{work.uuid}@{links.host()}>",
            "Auto-Submitted": "auto-generated",
        },
    )
    outcome = transport.deliver(
        mail, before_body=lambda: None, backend=backend_of_this_register()
    )
    if outcome.ending is Ending.LATER:
        raise TryLater(outcome.reason, after=timedelta(minutes=15))
    return lambda: {"ending": outcome.ending.value, "reason": outcome.reason}


def _told(pk: int) -> Mapping[str, object]:
    state = Message.objects.values_list("state", flat=True).get(pk=pk)
    return {"message": pk, "state": state}
