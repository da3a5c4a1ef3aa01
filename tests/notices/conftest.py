"""A mail server of our own, a clock in the hand, and a way to do what is due."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest

from jobs import beats, relay, schedule
from jobs.registry import HANDLERS
from tests.builders import NOON
from tests.jobs.later import HandClock
from tests.notices.mailserver import Mailbox, mail_server

HOUR = timedelta(hours=1)


@pytest.fixture
def post(settings) -> Iterator[Mailbox]:
    """Have mail go to a server of our own."""
    with mail_server() as (mailbox, port):
        settings.EMAIL_BACKEND = "jobs.notices.transport.SmtpBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
        settings.EMAIL_TIMEOUT = 1
        settings.SITE_URL = "https://register.harrow-lake.example"
        yield mailbox


@pytest.fixture
def kept(settings):
    """Have mail kept in memory."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    settings.SITE_URL = "https://register.harrow-lake.example"


class Days:
    """Moves the clock and does what is due, as the runner would."""

    def __init__(self, clock: HandClock) -> None:
        self.clock = clock
        self.around = relay.Surroundings(
            handlers=HANDLERS, clock=clock, jitter=lambda: 0.0
        )

    def work(self) -> int:
        """Do everything that is due now, and what that makes due; return starts."""
        beats.beat("shed:1", self.clock.at)
        schedule.put_back_due(self.clock.at)
        return relay.sweep(self.around)

    def go(self, **span: float) -> None:
        """Let time pass, then do what is due."""
        self.clock.move(**span)
        self.work()

    def until(self, at) -> None:
        """Let time pass to a moment, an hour at a step."""
        while self.clock.at < at:
            self.clock.at = min(at, self.clock.at + HOUR)
            self.work()


@pytest.fixture
def days(monkeypatch) -> Days:
    """Have time stand still until it is moved; files are not checked meanwhile."""
    monkeypatch.setattr(
        schedule,
        "RECURRING",
        tuple(
            entry
            for entry in schedule.RECURRING
            if entry.kind in {"reassess_due", "turn_the_day", "sweep_notices"}
        ),
    )
    return Days(HandClock(NOON))
