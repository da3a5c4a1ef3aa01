"""Hand one mail to a server, and say exactly how far that went.

What matters is the moment at which a mail may have arrived. Before its body goes out
nothing has, so trying again is safe; once the body has begun, only the server's answer
tells. ``before_body`` is called at that moment: it is where the sender notes it.
"""

from __future__ import annotations

import logging
import re
import smtplib
import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.backends.smtp import EmailBackend

logger = logging.getLogger(__name__)

# A server that answers a byte at a time keeps no thread for longer. [s]
WHOLE_CONVERSATION_S = 30.0
REASON_LENGTH = 500
# Enhanced status codes (RFC 3463) that speak of the mailbox, not of policy or content.
_ENHANCED = re.compile(r"\b5\.(\d{1,3})\.\d{1,3}\b")
_OF_MAILBOX = frozenset({"1", "2"})


class Ending(StrEnum):
    """How handing over ended."""

    SENT = "SENT"
    REFUSED = "REFUSED"
    LATER = "LATER"
    UNKNOWN = "UNKNOWN"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of one attempt."""

    ending: Ending
    reason: str = ""
    is_bad_address: bool = False


class Unanswered(Exception):
    """The body was going out or had gone, and no answer came."""


class _Phased(smtplib.SMTP):
    """An SMTP connection that knows when the body goes out, and ends in time."""

    before_body: Callable[[], None] = staticmethod(lambda: None)
    _commands = -1  # sends since DATA began; the second is the body
    _timer: threading.Timer | None = None

    def _get_socket(self, host: str, port: int, timeout: float) -> socket.socket:
        self._timer = threading.Timer(WHOLE_CONVERSATION_S, self._cut)
        self._timer.daemon = True
        self._timer.start()
        return super()._get_socket(host, port, timeout)  # type: ignore[misc,no-any-return]  # smtplib's own hook

    def _cut(self) -> None:
        try:
            if self.sock is not None:
                self.sock.shutdown(socket.SHUT_RDWR)
        except OSError:
            return  # closed by itself in between

    def send(self, s: str | bytes) -> None:
        """Send bytes; right before the body of a mail, say so."""
        if self._commands >= 0:
            self._commands += 1
            if self._commands == 2:
                self.before_body()
        super().send(s)

    def data(self, msg: str | bytes) -> tuple[int, bytes]:
        """Send a mail's body.

        Raises:
            Unanswered: it may have arrived, or not.
        """
        self._commands = 0
        try:
            return super().data(msg)
        except OSError as error:  # every SMTP error is one
            if self._commands >= 2:
                raise Unanswered(str(error)) from error
            raise
        except BaseException:
            # Whoever stopped us must not have QUIT be taken for the mail's text.
            self.close()
            raise
        finally:
            self._commands = -1

    def close(self) -> None:
        """Close the connection, and the watch over its time."""
        if self._timer is not None:
            self._timer.cancel()
        super().close()


class _PhasedOverTls(_Phased, smtplib.SMTP_SSL):
    """The same over TLS from the first byte."""


class SmtpBackend(EmailBackend):
    """Django's SMTP backend over a connection that knows its phase."""

    @property
    def connection_class(self) -> type[smtplib.SMTP]:
        """The class of the connection."""
        return _PhasedOverTls if self.use_ssl else _Phased


def deliver(
    mail: EmailMultiAlternatives,
    *,
    before_body: Callable[[], None],
    backend: str | None = None,
) -> Outcome:
    """Hand a mail over; return how it ended. Only ``before_body`` may raise."""
    server = get_connection(backend)
    if isinstance(server, SmtpBackend):
        return _by_smtp(server, mail, before_body)
    before_body()
    return _by_another(server, mail)


def _by_smtp(
    server: SmtpBackend, mail: EmailMultiAlternatives, before_body: Callable[[], None]
) -> Outcome:
    try:
        server.open()
    except OSError as error:
        # No server, no sign-in, no TLS: nothing of it is this mail's fault.
        return Outcome(ending=Ending.LATER, reason=_reason(error))
    server.connection.before_body = before_body
    try:
        server.send_messages([mail])
    except Unanswered as error:
        return Outcome(ending=Ending.UNKNOWN, reason=_reason(error))
    except smtplib.SMTPRecipientsRefused as error:
        code, reply = next(iter(error.recipients.values()))
        return _refusal(code, reply, of_address=True)
    except smtplib.SMTPResponseException as error:
        return _refusal(error.smtp_code, error.smtp_error)
    except OSError as error:
        return Outcome(ending=Ending.LATER, reason=_reason(error))
    finally:
        _hang_up(server)
    return Outcome(ending=Ending.SENT)


def _hang_up(server: SmtpBackend) -> None:
    # The mail was answered by now: a server that stalls at QUIT changes nothing.
    connection = server.connection
    if connection is None:
        return
    try:
        if connection.sock is not None:
            connection.sock.settimeout(1.0)
        server.close()
    except (OSError, smtplib.SMTPException):
        connection.close()


def _by_another(server: object, mail: EmailMultiAlternatives) -> Outcome:
    try:
        server.send_messages([mail])  # type: ignore[attr-defined]  # any mail backend
    except Exception as error:
        logger.exception("A mail was not taken.")
        status = getattr(error, "status_code", None)
        if status == 429 or isinstance(error, (PermissionError, FileNotFoundError)):
            return Outcome(ending=Ending.LATER, reason=_reason(error))
        if isinstance(status, int) and 400 <= status < 500:
            return Outcome(ending=Ending.REFUSED, reason=_reason(error))
        return Outcome(ending=Ending.UNKNOWN, reason=_reason(error))
    return Outcome(ending=Ending.SENT)


def _refusal(code: int, reply: str | bytes, *, of_address: bool = False) -> Outcome:
    said = reply.decode("utf-8", "replace") if isinstance(reply, bytes) else reply
    reason = f"{code} {said}"[:REASON_LENGTH]
    if not 500 <= code < 600:
        return Outcome(ending=Ending.LATER, reason=reason)
    enhanced = _ENHANCED.search(said)
    is_bad = of_address and (enhanced is None or enhanced.group(1) in _OF_MAILBOX)
    return Outcome(ending=Ending.REFUSED, reason=reason, is_bad_address=is_bad)


def _reason(error: BaseException) -> str:
    return f"{type(error).__name__}: {error}"[:REASON_LENGTH]
