"""A webhook goes to public addresses only, looked up once."""

from __future__ import annotations

import socket

import pytest

from jobs.webhooks.guard import EndpointRefused, is_public, looked_up, target_of
from tests.webhooks import hostile_addresses as hostile


def answering(*addresses: str):
    return lambda host, port: addresses


def test_the_corpus_is_large_enough():
    refused = {
        *hostile.INSIDE_V4,
        *hostile.INSIDE_V6,
        *hostile.MISSPELT,
        *hostile.WRONG_PORTS,
        *hostile.OTHER_SPELLINGS,
    }

    assert len(refused) >= 120


@pytest.mark.parametrize("address", [*hostile.INSIDE_V4, *hostile.INSIDE_V6])
class TestAddressesInside:
    def test_is_not_public(self, address):
        assert not is_public(address)

    def test_a_name_that_leads_there_is_refused(self, address):
        with pytest.raises(EndpointRefused, match="not public"):
            target_of(
                "https://hook.example/x",
                allows_loopback=False,
                lookup=answering(address),
            )

    def test_one_such_answer_among_public_ones_is_enough(self, address):
        with pytest.raises(EndpointRefused, match="not public"):
            target_of(
                "https://hook.example/x",
                allows_loopback=False,
                lookup=answering("8.8.8.8", address),
            )


@pytest.mark.parametrize("address", hostile.PUBLIC)
def test_public_addresses_are_taken_and_pinned(address):
    target = target_of(
        "https://hook.example/in?a=1",
        allows_loopback=False,
        lookup=answering(address, "9.9.9.9"),
    )

    assert (target.address, target.host, target.path) == (
        address,
        "hook.example",
        "/in?a=1",
    )


@pytest.mark.parametrize("url", hostile.MISSPELT)
def test_a_misspelt_address_is_refused_before_any_lookup(url):
    def never(host: str, port: int) -> list[str]:
        raise AssertionError(f"looked up {host!r}")

    with pytest.raises(EndpointRefused, match="Write the address as"):
        target_of(url, allows_loopback=False, lookup=never)


@pytest.mark.parametrize("port", hostile.WRONG_PORTS)
def test_other_ports_are_refused(port):
    with pytest.raises(EndpointRefused, match="443 or 8443"):
        target_of(
            f"https://hook.example:{port}/",
            allows_loopback=False,
            lookup=answering("8.8.8.8"),
        )


@pytest.mark.parametrize(("spelt", "meant"), hostile.OTHER_SPELLINGS.items())
def test_other_spellings_of_inside_addresses_are_refused(spelt, meant):
    assert socket.inet_ntoa(socket.inet_aton(spelt)) == meant

    with pytest.raises(EndpointRefused, match="not public"):
        target_of(f"https://{spelt}/", allows_loopback=False, lookup=looked_up)


def test_a_name_without_an_answer_is_refused():
    def unknown(host: str, port: int) -> list[str]:
        raise socket.gaierror("no such name")

    with pytest.raises(EndpointRefused, match="No address was found"):
        target_of("https://hook.example/", allows_loopback=False, lookup=unknown)


def test_a_name_is_looked_up_once():
    asked = []

    def counted(host: str, port: int) -> list[str]:
        asked.append(host)
        return ["8.8.8.8"]

    target_of("https://hook.example/", allows_loopback=False, lookup=counted)

    assert asked == ["hook.example"]


class TestLoopbackForDevelopment:
    def test_loopback_is_allowed_on_any_port(self):
        target = target_of(
            "http://localhost:9/", allows_loopback=True, lookup=answering("127.0.0.1")
        )

        assert target.host_header == "localhost:9"

    @pytest.mark.parametrize("address", ["10.0.0.1", "169.254.169.254", "fe80::1"])
    def test_nothing_else_inside_is(self, address):
        with pytest.raises(EndpointRefused, match="not public"):
            target_of(
                "https://hook.example/",
                allows_loopback=True,
                lookup=answering(address),
            )

    def test_plain_http_stays_refused_outside(self):
        with pytest.raises(EndpointRefused, match="Use https"):
            target_of(
                "http://hook.example/",
                allows_loopback=True,
                lookup=answering("8.8.8.8"),
            )
