"""Send one message: to the address that was looked up, once, within caps."""

from __future__ import annotations

import http.client
import socket
import ssl
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from time import monotonic

from jobs.webhooks.guard import Target

CONNECT_S = 5.0
# The whole exchange, however slowly the receiver drips.
WHOLE_S = 15.0
REPLY_BYTES_MAX = 16 * 1024
REPLY_EXCERPT = 500
LATE = "No whole answer within {:g} s."
USER_AGENT = "roof-register-webhooks/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What came of one attempt. ``status`` is None where no answer came."""

    status: int | None
    excerpt: str
    problem: str
    took_ms: int
    retry_after: str = ""

    @property
    def is_taken(self) -> bool:
        """Whether the receiver has the message: 2xx, and nothing else."""
        return self.status is not None and 200 <= self.status < 300


class _Pinned(http.client.HTTPConnection):
    """A connection to one looked-up address under the name that was asked for."""

    def __init__(
        self,
        target: Target,
        *,
        context: ssl.SSLContext | None,
        connect_s: float,
        was_late: threading.Event,
    ) -> None:
        super().__init__(target.host, target.port, timeout=connect_s)
        self._target, self._context = target, context
        self._was_late = was_late

    def connect(self) -> None:
        """Connect to the pinned address; SNI and certificate are the name's."""
        self.sock = socket.create_connection(
            (self._target.address, self._target.port), timeout=self.timeout
        )
        if self._context is not None:
            self.sock = self._context.wrap_socket(
                self.sock, server_hostname=self._target.host
            )
        # Connecting is quick or hopeless; an answer may take until the watch hangs up.
        self.sock.settimeout(None)
        if self._was_late.is_set():  # it came before there was a line to hang up
            raise TimeoutError


def post(
    target: Target,
    *,
    body: bytes,
    headers: Mapping[str, str],
    context: ssl.SSLContext | None = None,
    connect_s: float = CONNECT_S,
    whole_s: float = WHOLE_S,
) -> Reply:
    """Send the body and return the reply; no redirect is followed, ever."""
    begun = monotonic()
    if target.scheme == "https" and context is None:
        context = ssl.create_default_context()
    secure = context if target.scheme == "https" else None
    was_late = threading.Event()
    line = _Pinned(target, context=secure, connect_s=connect_s, was_late=was_late)
    watch = threading.Timer(whole_s, _hang_up, [line, was_late])
    watch.daemon = True
    watch.start()
    try:
        answer = _exchange(line, target, body, headers)
    except (OSError, http.client.HTTPException, ValueError) as error:
        is_late = was_late.is_set() or isinstance(error, TimeoutError)
        said = f"{type(error).__name__}: {error}"[:200]
        return _unanswered(LATE.format(whole_s) if is_late else said, begun)
    finally:
        watch.cancel()
        line.close()
    if was_late.is_set():
        # A head that was cut off in the middle still parses.
        return _unanswered(LATE.format(whole_s), begun)
    status, excerpt, retry_after = answer
    return Reply(
        status=status,
        excerpt=excerpt,
        problem="" if 200 <= status < 300 else f"The receiver answered {status}.",
        took_ms=_ms(begun),
        retry_after=retry_after,
    )


def _exchange(
    line: _Pinned, target: Target, body: bytes, headers: Mapping[str, str]
) -> tuple[int, str, str]:
    line.putrequest("POST", target.path, skip_host=True, skip_accept_encoding=True)
    fixed = {
        "Host": target.host_header,
        "User-Agent": USER_AGENT,
        "Content-Type": "application/json",
        "Content-Length": str(len(body)),
        "Accept-Encoding": "identity",
        "Connection": "close",
    }
    for name, value in {**headers, **fixed}.items():
        line.putheader(name, value)
    line.endheaders(body)
    answer = line.getresponse()
    read = answer.read(REPLY_BYTES_MAX)
    return answer.status, _excerpt(read), (answer.getheader("Retry-After") or "")[:40]


def _hang_up(line: _Pinned, was_late: threading.Event) -> None:
    was_late.set()
    sock = line.sock
    if sock is not None:
        try:
            sock.shutdown(socket.SHUT_RDWR)
        except OSError:
            return  # the other side was first


def _unanswered(problem: str, begun: float) -> Reply:
    return Reply(status=None, excerpt="", problem=problem, took_ms=_ms(begun))


def _excerpt(read: bytes) -> str:
    text = read[:REPLY_EXCERPT].decode("utf-8", "replace")
    return "".join(c if c.isprintable() else " " for c in text)


def _ms(begun: float) -> int:
    return round((monotonic() - begun) * 1000)
