"""Real servers on loopback that receive webhooks, well or badly."""

from __future__ import annotations

import socket
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

Answer = Callable[[socket.socket, threading.Event], None]


@dataclass(slots=True)
class Receiver:
    """A server that keeps what it was sent."""

    port: int
    received: list[bytes] = field(default_factory=list)
    names: list[str | None] = field(default_factory=list)  # what SNI asked for


@contextmanager
def receiver(
    answer: Answer, *, context: ssl.SSLContext | None = None
) -> Iterator[Receiver]:
    """Serve on a free port until the block ends; each connection in its thread."""
    server = socket.create_server(("127.0.0.1", 0))
    seen = Receiver(server.getsockname()[1])
    over = threading.Event()
    if context is not None:
        context.sni_callback = lambda _, name, __: seen.names.append(name)

    def serve_one(line: socket.socket) -> None:
        try:
            taken = context.wrap_socket(line, server_side=True) if context else line
            with taken:
                seen.received.append(_request(taken))
                answer(taken, over)
        except OSError:
            return  # the sender hung up, as it should on a bad receiver

    def serve() -> None:
        while True:
            try:
                line, _ = server.accept()
            except OSError:
                return
            threading.Thread(target=serve_one, args=(line,), daemon=True).start()

    threading.Thread(target=serve, daemon=True).start()
    try:
        yield seen
    finally:
        over.set()
        server.shutdown(socket.SHUT_RDWR)
        server.close()


def _request(line: socket.socket) -> bytes:
    read = b""
    while b"\r\n\r\n" not in read:
        read += line.recv(4096)
    head, _, body = read.partition(b"\r\n\r\n")
    length = int(head.lower().split(b"content-length: ")[1].split(b"\r\n")[0])
    while len(body) < length:
        body += line.recv(4096)
    return head + b"\r\n\r\n" + body


def saying(text: bytes) -> Answer:
    """Return an answer of these bytes."""
    return lambda line, over: line.sendall(text)


def taken() -> Answer:
    return saying(b"HTTP/1.1 204 No Content\r\n\r\n")


def dripping(line: socket.socket, over: threading.Event) -> None:
    """Send a byte of the head every 50 ms, for as long as anybody listens."""
    line.sendall(b"HTTP/1.1 200 OK\r\nX-Slow: ")
    while not over.wait(0.05):
        line.sendall(b"a")


def silent(line: socket.socket, over: threading.Event) -> None:
    """Take the message and never answer."""
    over.wait(30)


def endless(line: socket.socket, over: threading.Event) -> None:
    """Answer with a body that never ends."""
    line.sendall(b"HTTP/1.1 200 OK\r\n\r\n")
    while not over.is_set():
        line.sendall(b"x" * 65536)


def own_certificate(folder: Path, name: str) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """Return a server's and a client's context that know one certificate for a name."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    now = datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(hours=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), True)
        .sign(key, hashes.SHA256())
    )
    pem = folder / "receiver.pem"
    pem.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        + certificate.public_bytes(serialization.Encoding.PEM)
    )
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(pem)
    return server, ssl.create_default_context(cafile=str(pem))
