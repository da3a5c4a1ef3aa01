"""Mail that comes back, read by the standards' own examples.

The layouts are those of RFC 3464, appendix E (delivery reports) and RFC 5965,
appendix B (feedback reports), written out from memory with our own ids and addresses.
"""

from __future__ import annotations

import io
from uuid import uuid4

import pytest
from django.core.management import call_command

from jobs.models import Message, MessageState, StopCause, StoppedAddress, Wish
from jobs.notices import links
from jobs.notices.returns import NotAReport, Said, read_reports, take_returned
from tests import builders
from tests.builders import NOON

pytestmark = pytest.mark.django_db
ADDRESS = "odessa@harrow-lake.example"


@pytest.fixture
def message() -> Message:
    owner = builders.make_owner(email=ADDRESS)
    return Message.objects.create(
        owner=owner,
        state=MessageState.SENT,
        address=ADDRESS,
        attempted_at=NOON,
        handed_at=NOON,
        sent_at=NOON,
        send_at=NOON,
        created_at=NOON,
        attempts=1,
    )


def delivery_report(
    uuid,
    *,
    action="failed",
    status="5.1.1",
    address=ADDRESS,
    original="message/rfc822",
    host=None,
) -> bytes:
    named = f"<{uuid}@{host or links.host()}>"
    return f"""\
From: MAILER-DAEMON@post.example
To: office@harrow-lake.example
Subject: Undelivered mail
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status;
\tboundary="A1"

--A1
Content-Type: text/plain

Your mail could not be delivered.

--A1
Content-Type: message/delivery-status

Reporting-MTA: dns; post.example
Arrival-Date: Mon, 1 Jun 2026 12:00:00 -0400

Final-Recipient: rfc822; {address}
Action: {action}
Status: {status}
Diagnostic-Code: smtp; 550 {status} <{address}>: no such mailbox

--A1
Content-Type: {original}

From: office@harrow-lake.example
To: {ADDRESS}
Message-ID:
 {named}
Subject: Roof inspection due

--A1--
""".replace("\n", "\r\n").encode()


def complaint(uuid, *, kind="abuse", address=ADDRESS) -> bytes:
    return f"""\
From: <abuse@post.example>
To: office@harrow-lake.example
Subject: FW: Roof inspection due
MIME-Version: 1.0
Content-Type: multipart/report; report-type=feedback-report; boundary="B1"

--B1
Content-Type: text/plain

This is a complaint about a mail.

--B1
Content-Type: message/feedback-report

Feedback-Type: {kind}
User-Agent: Post/1.0
Version: 1
Original-Rcpt-To: <{address}>

--B1
Content-Type: message/rfc822

From: office@harrow-lake.example
To: <{ADDRESS}>
Message-ID: <{uuid}@{links.host()}>
Subject: Roof inspection due

Dear owner

--B1--
""".replace("\n", "\r\n").encode()


def state_of(message: Message) -> str:
    return Message.objects.get(pk=message.pk).state


class TestBounces:
    @pytest.mark.parametrize("original", ["message/rfc822", "text/rfc822-headers"])
    def test_a_mailbox_that_is_gone_stops_the_address(self, message, original):
        take_returned(delivery_report(message.uuid, original=original), now=NOON)

        stop = StoppedAddress.objects.get()
        assert state_of(message) == MessageState.BOUNCED
        assert (stop.address, stop.cause) == (ADDRESS, StopCause.BOUNCED)
        assert "no such mailbox" in stop.detail

    def test_taken_twice_it_is_one_bounce(self, message):
        for _ in range(2):
            take_returned(delivery_report(message.uuid), now=NOON)

        assert StoppedAddress.objects.count() == 1

    def test_a_server_away_for_days_bounces_and_stops_nothing(self, message):
        take_returned(delivery_report(message.uuid, status="4.4.7"), now=NOON)

        assert state_of(message) == MessageState.BOUNCED
        assert not StoppedAddress.objects.exists()

    def test_a_delay_is_no_bounce(self, message):
        report = delivery_report(message.uuid, action="delayed", status="4.4.1")

        take_returned(report, now=NOON)

        assert state_of(message) == MessageState.SENT

    def test_a_mail_of_which_nobody_knew_has_not_arrived(self, message):
        Message.objects.update(state=MessageState.UNCERTAIN, sent_at=None)

        take_returned(delivery_report(message.uuid), now=NOON)

        assert state_of(message) == MessageState.BOUNCED


class TestComplaints:
    def test_it_stops_the_address_and_the_reminders(self, message):
        take_returned(complaint(message.uuid), now=NOON)

        assert StoppedAddress.objects.get().cause == StopCause.COMPLAINT
        assert Wish.objects.get().reminders_off_at == NOON
        assert state_of(message) == MessageState.SENT

    def test_a_report_that_it_is_no_spam_is_left_alone(self, message):
        with pytest.raises(NotAReport):
            take_returned(complaint(message.uuid, kind="not-spam"), now=NOON)

        assert not StoppedAddress.objects.exists()


class TestWhoCanStopWhom:
    """A forged report silences nobody: it would have to name an id it never saw."""

    @pytest.mark.parametrize(
        "forged",
        [
            lambda message: delivery_report(uuid4()),
            lambda message: delivery_report(message.uuid, host="elsewhere.example"),
            lambda message: delivery_report(message.uuid, address="other@x.example"),
            lambda message: complaint(uuid4()),
            lambda message: complaint(message.uuid, address="other@x.example"),
        ],
    )
    def test_what_does_not_match_changes_nothing(self, message, forged):
        with pytest.raises(NotAReport):
            take_returned(forged(message), now=NOON)

        assert state_of(message) == MessageState.SENT
        assert not StoppedAddress.objects.exists()


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\x00\xff",
        b"Subject: hello\r\n\r\nnot a report",
        b"Content-Type: multipart/report; report-type=delivery-status\r\n\r\nno parts",
        (
            b"Content-Type: multipart/report; report-type=disposition-notification; "
            b'boundary="A"\r\n\r\n--A--'
        ),
        b"x" * (2 * 1024 * 1024 + 1),
    ],
)
def test_other_mail_is_left_alone(raw):
    with pytest.raises(NotAReport):
        read_reports(raw)


def test_every_address_of_a_report_is_read():
    uuid = uuid4()
    raw = delivery_report(uuid).replace(
        b"\r\n--A1\r\nContent-Type: message/rfc822",
        b"\r\nFinal-Recipient: rfc822; two@harrow-lake.example\r\nAction: delayed\r\n"
        b"Status: 4.4.1\r\n\r\n--A1\r\nContent-Type: message/rfc822",
    )

    found = [(each.address, each.said, each.status) for each in read_reports(raw)]

    assert found == [
        (ADDRESS, Said.FAILED, "5.1.1"),
        ("two@harrow-lake.example", Said.DELAYED, "4.4.1"),
    ]


def test_the_command_takes_a_mail_from_a_pipe(message, monkeypatch, capsys):
    piped = type("Piped", (), {"buffer": io.BytesIO(delivery_report(message.uuid))})
    monkeypatch.setattr("sys.stdin", piped)

    call_command("take_returned_mail")

    assert "FAILED 5.1.1" in capsys.readouterr().out
    assert state_of(message) == MessageState.BOUNCED


def test_the_command_leaves_other_mail_alone(tmp_path, capsys):
    (tmp_path / "m").write_bytes(b"Subject: hello\r\n\r\nhello")

    call_command("take_returned_mail", str(tmp_path / "m"))

    assert "left alone" in capsys.readouterr().out
