"""A real server that can be switched off, and can lose its answers on the way."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.handlers.wsgi import WSGIHandler
from django.core.servers.basehttp import ThreadedWSGIServer
from django.test.testcases import LiveServerThread, QuietWSGIRequestHandler

from tests.services import free_port

Environ = dict[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """One request of a phone: what came, and how long the server took for it."""

    what: str
    received_bytes: int
    server_ms: float


_this_request = threading.local()


def _cut() -> None:
    """Have the socket of this request closed without a byte of an answer."""
    _this_request.is_cut = True
    raise ConnectionResetError


class CuttingRequestHandler(QuietWSGIRequestHandler):
    """Closes the line where the application cut it; the base class keeps it open."""

    def handle_one_request(self) -> None:
        _this_request.is_cut = False
        super().handle_one_request()
        if _this_request.is_cut:
            self.close_connection = True
            self.connection.shutdown(socket.SHUT_RDWR)


class LossyHandler(StaticFilesHandler):
    """Does what is asked, then cuts the line instead of answering, while told to."""

    lost: list[str]
    answered: list[Answered]
    is_lossy: bool
    is_away: bool

    def __init__(self, application: WSGIHandler) -> None:
        super().__init__(application)
        self.lost = []
        self.answered = []
        self.is_lossy = False
        self.is_away = False

    def __call__(
        self, environ: Environ, start_response: Callable[..., object]
    ) -> Iterable[bytes]:
        path = str(environ["PATH_INFO"])
        if self.is_away:
            # A connection that was open when the server went away.
            _cut()
        began_s = time.perf_counter()
        answer: Iterable[bytes] = super().__call__(environ, start_response)
        if path.startswith("/api/field/"):
            told = Answered(
                what=f"{environ['REQUEST_METHOD']} {path}",
                received_bytes=int(str(environ.get("CONTENT_LENGTH") or 0)),
                server_ms=(time.perf_counter() - began_s) * 1000,
            )
            self.answered.append(told)
        if self.is_lossy and path.startswith("/api/field/"):
            self.lost.append(f"{environ['REQUEST_METHOD']} {path}")
            _cut()
        return answer


class ReturningServerThread(LiveServerThread):
    """A server that may come back at the address that it left a moment ago."""

    def _create_server(
        self, connections_override: dict[str, object] | None = None
    ) -> ThreadedWSGIServer:
        return ThreadedWSGIServer(
            (self.host, self.port),
            CuttingRequestHandler,
            allow_reuse_address=True,
            connections_override=connections_override,
        )


class FieldServer:
    """One address for the whole test, whether somebody answers there or not."""

    def __init__(self) -> None:
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self._thread: ReturningServerThread | None = None
        self._handler: LossyHandler | None = None

    def start(self) -> None:
        handler = LossyHandler(WSGIHandler())

        def kept(_application: object) -> LossyHandler:
            return handler

        self._handler = handler
        self._thread = ReturningServerThread("127.0.0.1", kept, port=self.port)
        self._thread.daemon = True
        self._thread.start()
        self._thread.is_ready.wait()
        if self._thread.error:
            raise self._thread.error

    def stop(self) -> None:
        if self._thread is not None and self._handler is not None:
            self._handler.is_away = True
            self._thread.terminate()
            self._thread = None

    def lose_answers(self, *, lossy: bool) -> None:
        assert self._handler is not None
        self._handler.is_lossy = lossy

    @property
    def answered(self) -> list[Answered]:
        assert self._handler is not None
        return self._handler.answered

    @property
    def lost(self) -> list[str]:
        assert self._handler is not None
        return self._handler.lost
