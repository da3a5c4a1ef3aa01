"""A real SMTP server on the loopback that stalls, refuses and remembers as asked."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

from tests.services import free_port

OK = "250 OK"


@dataclass(slots=True)
class Mailbox:
    """What the server took, and what it answers."""

    at_rcpt: str = OK
    at_data: str = OK
    only_for: str = ""  # whom at_rcpt is said to; empty: everybody
    stall_at: str = ""  # "MAIL", "RCPT" or "BODY": the answer never comes
    hang_up_after_body: bool = False
    took: list[bytes] = field(default_factory=list)
    attempts: int = 0
    after_body: Callable[[], None] = lambda: None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def mails(self) -> list[EmailMessage]:
        """The mails that were taken, parsed."""
        return [message_from_bytes(raw, policy=policy.default) for raw in self.took]

    async def handle_MAIL(  # noqa: N802 - the server's own hook
        self, server: SMTP, session: Session, envelope: Envelope, address: str, _options
    ) -> str:
        with self._lock:
            self.attempts += 1
        envelope.mail_from = address
        return await self._answer("MAIL", OK)

    async def handle_RCPT(  # noqa: N802 - the server's own hook
        self, server: SMTP, session: Session, envelope: Envelope, address: str, _options
    ) -> str:
        answer = self.at_rcpt if self.only_for in {"", address} else OK
        if answer == OK:
            envelope.rcpt_tos.append(address)
        return await self._answer("RCPT", answer)

    async def handle_DATA(  # noqa: N802 - the server's own hook
        self, server: SMTP, session: Session, envelope: Envelope
    ) -> str:
        if self.at_data == OK:
            with self._lock:
                self.took.append(envelope.content)
        self.after_body()
        if self.hang_up_after_body:
            server.transport.abort()
        return await self._answer("BODY", self.at_data)

    async def _answer(self, phase: str, answer: str) -> str:
        if self.stall_at == phase:
            await asyncio.sleep(60)
        return answer


@contextmanager
def mail_server() -> Iterator[tuple[Mailbox, int]]:
    """Start a server on a free port; yield its mailbox and its port."""
    mailbox, port = Mailbox(), free_port()
    controller = Controller(mailbox, hostname="127.0.0.1", port=port)
    controller.start()
    try:
        yield mailbox, port
    finally:
        controller.stop()
