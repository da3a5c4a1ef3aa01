"""Where a request comes from."""

from __future__ import annotations

import pytest

from fleet.client_address import client_address, network_of

PROXIES = ["10.0.0.0/8"]


@pytest.mark.parametrize(
    ("connection", "forwarded", "trusted", "address"),
    [
        ("192.0.2.7", "", [], "192.0.2.7"),
        ("192.0.2.7", "203.0.113.9", [], "192.0.2.7"),
        ("192.0.2.7", "203.0.113.9", PROXIES, "192.0.2.7"),
        ("10.1.1.1", "203.0.113.9", PROXIES, "203.0.113.9"),
        # What the caller wrote stands before what the proxy saw.
        ("10.1.1.1", "198.51.100.1, 203.0.113.9", PROXIES, "203.0.113.9"),
        ("10.1.1.1", "203.0.113.9, 10.2.2.2", PROXIES, "203.0.113.9"),
        ("10.1.1.1", "nonsense", PROXIES, "10.1.1.1"),
        ("10.1.1.1", "", PROXIES, "10.1.1.1"),
        ("::ffff:192.0.2.7", "", [], "192.0.2.7"),
        ("", "203.0.113.9", PROXIES, ""),
    ],
)
def test_only_a_trusted_proxy_is_believed(connection, forwarded, trusted, address):
    meta = {"REMOTE_ADDR": connection, "HTTP_X_FORWARDED_FOR": forwarded}

    assert client_address(meta, trusted=trusted) == address


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.7", "192.0.2.0/24"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("", "unknown"),
    ],
)
def test_tries_are_counted_by_network(address, network):
    assert network_of(address) == network


@pytest.mark.django_db
def test_pairing_a_phone_counts_the_address_behind_the_proxy(client, settings):
    settings.TRUSTED_PROXIES = ["127.0.0.1/32"]

    def pair(address: str) -> int:
        return client.post(
            "/api/field/pair",
            {"code": "WRONGONE", "device_name": "phone"},
            content_type="application/json",
            headers={"X-Field": "1", "X-Forwarded-For": address},
        ).status_code

    told = [pair("203.0.113.9") for _ in range(11)]

    assert told == [404] * 10 + [429]
    assert pair("203.0.113.10") == 404
