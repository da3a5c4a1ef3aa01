"""Mail that comes back: delivery reports and complaints, matched to what was sent.

Only a report that names a Message-ID of ours *and* the address that message went to is
believed: both are known to nobody but its receiver, so nobody silences somebody else.

References
----------
RFC 3464 (delivery status notifications), RFC 5965 (feedback reports), RFC 3463 (status
codes), RFC 6522 (multipart/report).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from email import message_from_bytes, policy
from email.message import EmailMessage
from email.message import Message as MailPart
from enum import StrEnum
from uuid import UUID

from django.db import transaction

from jobs.models import Message, MessageState, StopCause
from jobs.notices import links
from jobs.notices.sending import tell_office
from jobs.notices.stopping import stop_address, turn_reminders

_OURS = re.compile(r"<([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})@([^>\s]+)>", re.I)
# More than any report needs.
MOST_BYTES = 2 * 1024 * 1024
_BOUNCES = (MessageState.SENT, MessageState.UNCERTAIN, MessageState.SENDING)


class Said(StrEnum):
    """What a report says of one address."""

    FAILED = "FAILED"
    DELAYED = "DELAYED"
    DELIVERED = "DELIVERED"
    COMPLAINT = "COMPLAINT"


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What came back about one address of one message."""

    said: Said
    message_uuid: UUID
    address: str
    status: str
    detail: str


class NotAReport(ValueError):
    """The mail is no report about a message of ours."""


def read_reports(raw: bytes) -> tuple[Report, ...]:
    """Return what a returned mail says, one report an address.

    Raises:
        NotAReport: it is something else, too large, or about mail of others.
    """
    if len(raw) > MOST_BYTES:
        raise NotAReport(f"It has {len(raw)} bytes; a report has less.")
    mail = message_from_bytes(raw, policy=policy.default)
    if mail.get_content_type() != "multipart/report":
        raise NotAReport("It is no multipart/report.")
    uuid = _message_named_in(mail)
    kind = (mail.get_param("report-type") or "").lower()  # type: ignore[union-attr]  # a text
    if kind == "delivery-status":
        found = tuple(_deliveries(mail, uuid))
    elif kind == "feedback-report":
        found = tuple(_complaints(mail, uuid))
    else:
        raise NotAReport(f"Reports of the type {kind!r} say nothing about delivery.")
    if not found:
        raise NotAReport("It names no address.")
    return found


def take_returned(raw: bytes, *, now: datetime) -> tuple[str, ...]:
    """Write down what came back; return a line a report. Safe to take twice.

    Raises:
        NotAReport: it is no report about a message of ours.
    """
    return tuple(_take(report, now) for report in read_reports(raw))


def _take(report: Report, now: datetime) -> str:
    with transaction.atomic():
        message = (
            Message.objects.select_for_update(of=("self",))
            .filter(uuid=report.message_uuid)
            .select_related("owner")
            .first()
        )
        if message is None or message.address.lower() != report.address:
            raise NotAReport("It is about no message of ours to this address.")
        if report.said is Said.COMPLAINT:
            _complain(message, report, now)
        elif report.said is Said.FAILED:
            _bounce(message, report, now)
    return f"{message.uuid} {report.said.value} {report.status}".strip()


def _bounce(message: Message, report: Report, now: datetime) -> None:
    moved = Message.objects.filter(pk=message.pk, state__in=_BOUNCES).update(
        state=MessageState.BOUNCED, reason=report.detail
    )
    # 5.x.x: this address will not do; 4.x.x: the server was away for days.
    if report.status.startswith("5"):
        stop_address(
            message.address,
            cause=StopCause.BOUNCED,
            detail=report.detail,
            message=message,
            now=now,
        )
    if moved:
        tell_office(message, now=now)


def _complain(message: Message, report: Report, now: datetime) -> None:
    is_new = stop_address(
        message.address,
        cause=StopCause.COMPLAINT,
        detail=report.detail,
        message=message,
        now=now,
    )
    if is_new:
        turn_reminders(message.owner, off=True, now=now)
        tell_office(message, now=now)


def _deliveries(mail: EmailMessage, uuid: UUID) -> Iterator[Report]:
    actions = {"failed": Said.FAILED, "delayed": Said.DELAYED}
    for part in mail.walk():
        if part.get_content_type() != "message/delivery-status":
            continue
        for fields in _blocks(part):
            address = _address(fields.get("Final-Recipient", ""))
            original = _address(fields.get("Original-Recipient", ""))
            if not (address or original):
                continue
            action = str(fields.get("Action", "")).strip().lower()
            yield Report(
                said=actions.get(action, Said.DELIVERED),
                message_uuid=uuid,
                address=original or address,
                status=str(fields.get("Status", "")).split(" ")[0].strip(),
                detail=_one_line(fields.get("Diagnostic-Code") or action),
            )


def _complaints(mail: EmailMessage, uuid: UUID) -> Iterator[Report]:
    for part in mail.walk():
        if part.get_content_type() != "message/feedback-report":
            continue
        for fields in _blocks(part):
            kind = str(fields.get("Feedback-Type", "")).strip().lower()
            if kind not in {"abuse", "fraud", "other", "opt-out"}:
                continue
            address = _address(str(fields.get("Original-Rcpt-To", ""))) or _original_to(
                mail
            )
            if address:
                yield Report(
                    said=Said.COMPLAINT,
                    message_uuid=uuid,
                    address=address,
                    status="",
                    detail=f"reported as {kind}",
                )


def _blocks(part: MailPart) -> Iterator[MailPart]:
    """Yield the blocks of fields of a report part, however the parser kept them."""
    payload = part.get_payload()
    if isinstance(payload, list):
        yield from payload  # type: ignore[misc]  # parts
        return
    body = part.get_payload(decode=True) or b""
    for block in re.split(rb"\r?\n\r?\n", bytes(body)):
        if block.strip():
            yield message_from_bytes(block, policy=policy.default)


def _message_named_in(mail: EmailMessage) -> UUID:
    """Return our message that the returned headers name."""
    for part in mail.walk():
        kind = part.get_content_type()
        if kind not in {"message/rfc822", "text/rfc822-headers"}:
            continue
        payload = part.get_payload()
        named = payload[0].get("Message-ID", "") if isinstance(payload, list) else ""
        text = str(named) or str(part.get_payload(decode=True) or b"", "latin-1")
        for uuid, host in _OURS.findall(text):
            if host.lower() == links.host().lower():
                return UUID(uuid)
    raise NotAReport("It names no message of ours.")


def _original_to(mail: EmailMessage) -> str:
    for part in mail.walk():
        payload = part.get_payload()
        if part.get_content_type() == "message/rfc822" and isinstance(payload, list):
            return _address(str(payload[0].get("To", "")))
    return ""


def _address(value: object) -> str:
    """Return the address of a field like ``rfc822; <name@place>``, in small letters."""
    text = str(value).split(";")[-1]
    found = re.search(r"[^\s<>,;]+@[^\s<>,;]+", text)
    return found.group().lower() if found else ""


def _one_line(value: object) -> str:
    return " ".join(str(value).split())[:500]
