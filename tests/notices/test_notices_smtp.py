"""Handing over to a real SMTP server: what stalls, refuses, or dies in between."""

from __future__ import annotations

import time
from datetime import timedelta

import pytest

from fleet.selectors.demo import DEMO_OFFICE_ID
from jobs import relay
from jobs.models import Message, MessageState, Run, RunState, StoppedAddress
from jobs.notices import sending, stopping, transport
from jobs.notices.sweep import look
from jobs.work import LEASE
from tests import builders
from tests.builders import NOON

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

ADDRESS = "odessa@harrow-lake.example"


@pytest.fixture
def message(days, post) -> Message:
    """A message about a claim, due now."""
    owner = builders.make_owner(name="Odessa Ferrymoor", email=ADDRESS)
    roof = builders.make_promised_roof(
        coach=builders.make_coach(owner=owner, unit_no="HL-0001")
    )
    look(now=NOON)
    days.clock.move(hours=1)
    builders.make_claim(roof, now=days.clock.at, ref="C-1")
    look(now=days.clock.at)
    return Message.objects.get()


def state_of(message: Message) -> str:
    return Message.objects.get(pk=message.pk).state


def the_run() -> Run:
    return Run.objects.filter(kind="send_message").latest("pk")


def test_a_mail_is_handed_over_once_with_its_own_id(days, post, message):
    days.work()

    [mail] = post.mails
    assert state_of(message) == MessageState.SENT
    assert (
        mail["Message-ID"].strip() == f"<{message.uuid}@register.harrow-lake.example>"
    )
    assert mail["Auto-Submitted"] == "auto-generated"
    assert mail["To"] == ADDRESS
    kinds = [part.get_content_type() for part in mail.walk()]
    assert {"text/plain", "text/html"} <= set(kinds)


class TestBeforeTheBody:
    """Nothing has arrived, so it is tried again."""

    @pytest.mark.parametrize("phase", ["MAIL", "RCPT"])
    def test_a_stall_frees_the_lane_in_time(self, days, post, message, phase):
        post.stall_at = phase
        began_s = time.monotonic()

        days.work()

        assert time.monotonic() - began_s < 15
        assert (state_of(message), the_run().state) == ("WAITING", RunState.NEW)
        assert the_run().available_at == days.clock.at + timedelta(minutes=1)

    @pytest.mark.parametrize(
        "answer", ["450 4.2.1 mailbox busy", "451 4.7.1 greylisted, come back"]
    )
    def test_a_4xx_is_tried_again_and_then_taken(self, days, post, message, answer):
        post.at_rcpt = answer
        days.work()
        assert (state_of(message), post.took) == ("WAITING", [])
        post.at_rcpt = "250 OK"

        days.go(minutes=1)

        assert (state_of(message), len(post.took)) == ("SENT", 1)
        assert the_run().state == RunState.DONE

    def test_no_server_at_all_is_tried_again(self, days, post, message, settings):
        settings.EMAIL_PORT = 1

        days.work()

        assert state_of(message) == "WAITING"
        assert "refused" in the_run().last_error

    def test_after_nearly_three_days_it_is_given_up(self, days, post, message):
        post.at_rcpt = "450 4.2.1 mailbox busy"
        for _ in range(9):
            days.work()
            days.clock.at = max(days.clock.at, the_run().available_at)

        assert state_of(message) == MessageState.REFUSED
        assert post.attempts == len(sending.PAUSES_MIN) + 1
        assert days.clock.at - NOON < timedelta(days=3)
        assert "Given up" in Message.objects.get().reason

    def test_a_runner_that_dies_here_has_sent_nothing_so_it_is_sent(
        self, days, post, message, monkeypatch
    ):
        class Killed(BaseException):
            pass

        def die(*_args, **_kwargs):
            raise Killed

        monkeypatch.setattr(transport, "deliver", die)
        with pytest.raises(Killed):
            days.work()
        monkeypatch.undo()
        assert state_of(message) == "SENDING"

        days.clock.move(seconds=LEASE.total_seconds() + 1)
        relay.sweep(days.around)

        assert (state_of(message), len(post.took)) == ("SENT", 1)

    def test_a_holder_that_was_overtaken_hands_nothing_over(
        self, days, post, message, monkeypatch
    ):
        hand_over = transport.deliver

        def be_overtaken(mail, **over):
            # Frozen until the lease ran out, while another runner claimed the run.
            Run.objects.filter(kind="send_message").update(lease_token=99)
            return hand_over(mail, **over)

        monkeypatch.setattr(transport, "deliver", be_overtaken)

        days.work()

        assert post.took == []
        assert state_of(message) == "SENDING"
        assert Message.objects.get().handed_at is None


class TestAfterTheBody:
    """It may have arrived, so nothing is sent again by itself."""

    def test_a_stall_leaves_it_unknown(self, days, post, message):
        post.stall_at = "BODY"

        days.work()
        days.go(hours=3)

        assert state_of(message) == MessageState.UNCERTAIN
        assert len(post.took) == 1

    def test_a_server_that_hangs_up_leaves_it_unknown(self, days, post, message):
        post.hang_up_after_body = True

        days.work()
        days.go(hours=3)

        assert state_of(message) == MessageState.UNCERTAIN
        assert len(post.took) == 1

    def test_a_crash_between_250_and_commit_sends_no_second_mail(
        self, days, post, message, monkeypatch
    ):
        class Killed(BaseException):
            pass

        def die(*_args):
            raise Killed

        monkeypatch.setattr(sending, "_settle", die)
        with pytest.raises(Killed):
            days.work()
        monkeypatch.undo()
        assert (state_of(message), len(post.took)) == ("SENDING", 1)

        days.clock.move(seconds=LEASE.total_seconds() + 1)
        relay.sweep(days.around)

        assert state_of(message) == MessageState.UNCERTAIN
        assert len(post.took) == 1

    def test_the_office_sends_it_again_under_the_same_id(self, days, post, message):
        post.hang_up_after_body = True
        days.work()
        post.hang_up_after_body = False

        stopping.send_again(Message.objects.get(), now=days.clock.at)
        days.work()

        first, second = post.mails
        assert first["Message-ID"] == second["Message-ID"]
        assert state_of(message) == MessageState.SENT

    def test_the_office_notes_that_it_arrived(self, days, post, message):
        post.hang_up_after_body = True
        days.work()

        stopping.mark_arrived(Message.objects.get(), now=days.clock.at)

        assert state_of(message) == MessageState.SENT
        with pytest.raises(stopping.MessageMovedOn):
            stopping.send_again(Message.objects.get(), now=days.clock.at)

    def test_a_4xx_after_the_body_is_an_answer(self, days, post, message):
        post.at_data = "452 4.3.1 disk full"

        days.work()

        assert state_of(message) == "WAITING"


class TestRefusals:
    def test_an_unknown_mailbox_stops_the_address(self, days, post, message):
        post.at_rcpt = "550 5.1.1 no such user here"

        days.work()

        assert state_of(message) == MessageState.REFUSED
        assert StoppedAddress.objects.get().address == ADDRESS
        assert the_run().state == RunState.DONE

    def test_a_policy_refusal_does_not_stop_it(self, days, post, message):
        post.at_rcpt = "550 5.7.1 not from this network"

        days.work()

        assert state_of(message) == MessageState.REFUSED
        assert not StoppedAddress.objects.exists()

    def test_refused_content_does_not_stop_it(self, days, post, message):
        post.at_data = "554 5.6.0 not liked"

        days.work()

        assert state_of(message) == MessageState.REFUSED
        assert not StoppedAddress.objects.exists()

    def test_nothing_more_goes_to_a_stopped_address(self, days, post, message):
        post.at_rcpt = "550 5.1.1 no such user here"
        days.work()
        post.at_rcpt = "250 OK"
        stopping.send_again(Message.objects.get(), now=days.clock.at)

        days.work()

        assert (state_of(message), post.took) == (MessageState.STOPPED, [])

    def test_released_it_is_written_to_again(self, days, post, message):
        post.at_rcpt = "550 5.1.1 no such user here"
        days.work()
        post.at_rcpt = "250 OK"
        stopping.release_address(StoppedAddress.objects.get(), now=days.clock.at)
        stopping.send_again(Message.objects.get(), now=days.clock.at)

        days.work()

        assert (state_of(message), len(post.took)) == (MessageState.SENT, 1)

    def test_the_office_is_told_by_mail_if_it_gave_an_address(
        self, days, post, message, settings
    ):
        settings.OFFICE_EMAIL = "desk@harrow-lake.example"
        post.at_rcpt, post.only_for = "550 5.1.1 no such user", ADDRESS

        days.work()

        [mail] = post.mails
        assert mail["To"] == "desk@harrow-lake.example"
        assert "Odessa Ferrymoor" in mail["Subject"]


def test_a_talk_without_end_is_cut(days, post, message, monkeypatch, settings):
    monkeypatch.setattr(transport, "WHOLE_CONVERSATION_S", 1.5)
    post.stall_at = "RCPT"
    settings.EMAIL_TIMEOUT = 50
    began_s = time.monotonic()

    days.work()

    assert time.monotonic() - began_s < 15
    assert state_of(message) == "WAITING"


def test_the_demo_never_sends_mail(days, post, message, settings, tmp_path):
    settings.EMAIL_FILE_PATH = str(tmp_path)
    builders.make_user(uuid=DEMO_OFFICE_ID)

    days.work()

    assert (state_of(message), post.attempts) == (MessageState.SENT, 0)
    [kept] = tmp_path.iterdir()
    assert "Odessa Ferrymoor" in kept.read_text()
