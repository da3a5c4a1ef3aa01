"""One attempt reaches the pinned address, follows nothing, and ends in time."""

from __future__ import annotations

import threading
from time import monotonic

import pytest

from jobs.webhooks.guard import Target
from jobs.webhooks.sending import REPLY_BYTES_MAX, REPLY_EXCERPT, post
from tests.webhooks.receivers import (
    dripping,
    endless,
    own_certificate,
    receiver,
    saying,
    silent,
    taken,
)

pytestmark = pytest.mark.slow
BODY = b'{"type":"standing.changed"}'


def target(port: int, **over) -> Target:
    fields = {
        "scheme": "http",
        "host": "hook.example",
        "port": port,
        "path": "/in?a=1",
        "address": "127.0.0.1",
    }
    return Target(**{**fields, **over})


def sent(port: int, **over):
    options = {"body": BODY, "headers": {"webhook-id": "m-1"}, "whole_s": 1.0}
    return post(target(port), **{**options, **over})


def test_the_name_stays_in_host_though_no_resolver_knows_it():
    with receiver(taken()) as at:
        reply = sent(at.port)

    head, _, body = at.received[0].partition(b"\r\n\r\n")
    assert reply.is_taken
    assert head.startswith(b"POST /in?a=1 HTTP/1.1\r\n")
    assert f"Host: hook.example:{at.port}".encode() in head.split(b"\r\n")
    assert b"webhook-id: m-1" in head.split(b"\r\n")
    assert body == BODY


class TestTls:
    def test_sni_and_certificate_are_the_names(self, tmp_path):
        server, client = own_certificate(tmp_path, "hook.example")

        with receiver(taken(), context=server) as at:
            reply = post(
                target(at.port, scheme="https"), body=BODY, headers={}, context=client
            )

        assert reply.is_taken
        assert at.names == ["hook.example"]

    def test_a_certificate_of_another_name_is_refused(self, tmp_path):
        server, client = own_certificate(tmp_path, "other.example")

        with receiver(taken(), context=server) as at:
            reply = post(
                target(at.port, scheme="https"), body=BODY, headers={}, context=client
            )

        assert (reply.status, at.received) == (None, [])
        assert "CERTIFICATE_VERIFY_FAILED" in reply.problem

    def test_a_certificate_that_nobody_vouches_for_is_refused(self, tmp_path):
        server, _ = own_certificate(tmp_path, "hook.example")

        with receiver(taken(), context=server) as at:
            reply = post(target(at.port, scheme="https"), body=BODY, headers={})

        assert (reply.status, at.received) == (None, [])


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_no_redirect_is_followed(status):
    with receiver(taken()) as inside:
        moved = f"HTTP/1.1 {status} Moved\r\nLocation: http://127.0.0.1:{inside.port}/"
        with receiver(saying(f"{moved}\r\nContent-Length: 0\r\n\r\n".encode())) as at:
            reply = sent(at.port)

    assert (reply.status, reply.is_taken) == (status, False)
    assert inside.received == []


@pytest.mark.parametrize("bad", [dripping, silent])
def test_a_receiver_without_an_answer_is_left_in_time(bad):
    begun = monotonic()

    with receiver(bad) as at:
        reply = sent(at.port, whole_s=0.4)

    assert reply.status is None
    assert reply.problem == "No whole answer within 0.4 s."
    assert monotonic() - begun < 2


def test_an_answer_may_take_longer_than_a_connection():
    def late(line, over):
        over.wait(0.4)
        line.sendall(b"HTTP/1.1 204 No Content\r\n\r\n")

    with receiver(late) as at:
        reply = sent(at.port, connect_s=0.1, whole_s=5.0)

    assert reply.is_taken


def test_a_watch_that_came_before_the_line_still_counts():
    with receiver(silent) as at:
        reply = sent(at.port, whole_s=0.0)

    assert reply.problem == "No whole answer within 0 s."


def test_of_an_endless_answer_only_the_cap_is_read():
    with receiver(endless) as at:
        reply = sent(at.port)

    assert reply.is_taken
    assert len(reply.excerpt) == REPLY_EXCERPT < REPLY_BYTES_MAX


def test_a_packed_answer_stays_packed():
    packed = b"HTTP/1.1 200 OK\r\nContent-Encoding: gzip\r\nContent-Length: 3\r\n\r\n"

    with receiver(saying(packed + b"\x1f\x8b\x08")) as at:
        reply = sent(at.port)

    assert reply.excerpt == " \ufffd "


@pytest.mark.parametrize(
    "nonsense", [b"", b"\x00\x01\x02\r\n\r\n", b"HTTP/1.1 9999 x\r\n\r\n", b"HTTP/1.1"]
)
def test_nonsense_is_a_problem_not_an_accident(nonsense):
    with receiver(saying(nonsense)) as at:
        reply = sent(at.port)

    assert reply.status is None
    assert reply.problem


def test_a_closed_port_is_a_problem():
    with receiver(taken()) as at:
        port = at.port

    assert "Refused" in sent(port).problem


def test_when_to_come_back_is_kept():
    busy = b"HTTP/1.1 503 Busy\r\nRetry-After: 120\r\nContent-Length: 0\r\n\r\n"

    with receiver(saying(busy)) as at:
        reply = sent(at.port)

    assert (reply.status, reply.retry_after) == (503, "120")
    assert reply.problem == "The receiver answered 503."


def test_fifty_silent_receivers_hold_up_no_other_thread():
    with receiver(silent) as bad, receiver(taken()) as good:
        waiting = [
            threading.Thread(target=sent, args=(bad.port,), kwargs={"whole_s": 1.5})
            for _ in range(50)
        ]
        for each in waiting:
            each.start()
        took = [sent(good.port).took_ms for _ in range(20)]
        for each in waiting:
            each.join()

    assert max(took) < 1000
    assert len(good.received) == 20
