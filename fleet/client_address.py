"""Where a request comes from, behind proxies that are known or none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network

Address = IPv4Address | IPv6Address
# One customer's share of the net: they change addresses within it at will.
NETWORK_BITS = {4: 24, 6: 64}


def client_address(meta: Mapping[str, object], *, trusted: Iterable[str]) -> str:
    """Return the address of the caller; empty when the connection tells none.

    A proxy that is trusted adds the address it saw at the end of X-Forwarded-For. So
    the list is read from its end, past trusted proxies, up to the first that is not
    one. What stands before could be anybody's invention.
    """
    proxies = [ip_network(each, strict=False) for each in trusted]
    told = _parsed(str(meta.get("REMOTE_ADDR", "")))
    if told is None:
        return ""
    hops = str(meta.get("HTTP_X_FORWARDED_FOR", "")).split(",")
    while hops and any(told in each for each in proxies):
        further = _parsed(hops.pop())
        if further is None:
            break
        told = further
    return str(told)


def network_of(address: str) -> str:
    """Return the network that an address belongs to, for counting tries."""
    known = _parsed(address)
    if known is None:
        return "unknown"
    return str(ip_network(f"{known}/{NETWORK_BITS[known.version]}", strict=False))


def _parsed(text: str) -> Address | None:
    try:
        known = ip_address(text.strip())
    except ValueError:
        return None
    mapped = known.ipv4_mapped if isinstance(known, IPv6Address) else None
    return mapped or known
