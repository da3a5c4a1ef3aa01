"""Which addresses a webhook may be sent to: public ones, looked up once."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from urllib.parse import urlsplit

from fleet.errors import DomainError

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Lookup = Callable[[str, int], Iterable[str]]

URL_LENGTH_MAX = 500
PORTS = frozenset({443, 8443})
LOOPBACK_SCHEMES = frozenset({"http", "https"})
# Ranges whose addresses carry an IPv4 address inside: the inner one is asked as well.
NAT64 = ipaddress.IPv6Network("64:ff9b::/96")  # RFC 6052
IPV4_COMPATIBLE = ipaddress.IPv6Network("::/96")  # RFC 4291, deprecated
# Never sent to, whatever the standard library of the day says of them.
REFUSED = tuple(
    ipaddress.ip_network(text)
    for text in (
        "0.0.0.0/8",  # this network, RFC 1122
        "100.64.0.0/10",  # shared by carriers, RFC 6598; some clouds' metadata
        "168.63.129.16/32",  # a cloud's platform address, inside a public range
        "169.254.0.0/16",  # link local and metadata, RFC 3927
        "192.0.0.0/24",  # protocol assignments, RFC 6890; some clouds' metadata
        "192.88.99.0/24",  # 6to4 relays, deprecated by RFC 7526
        "198.18.0.0/15",  # benchmarks, RFC 2544
        "224.0.0.0/4",  # multicast, RFC 5771
        "240.0.0.0/4",  # reserved, RFC 1112
        "64:ff9b:1::/48",  # local NAT64, RFC 8215
        "100::/64",  # discard only, RFC 6666
        "2001::/23",  # protocol assignments and Teredo, RFC 2928 and 4380
        "2001:db8::/32",  # documentation, RFC 3849
        "2002::/16",  # 6to4, RFC 3056: its relays are gone
        "3fff::/20",  # documentation, RFC 9637
        "5f00::/16",  # segment routing, RFC 9602
        "fc00::/7",  # unique local, RFC 4193
        "fe80::/10",  # link local, RFC 4291
        "fec0::/10",  # site local, deprecated by RFC 3879
        "ff00::/8",  # multicast, RFC 4291
    )
)


class EndpointRefused(DomainError):
    """An address that webhooks are never sent to."""

    code = "endpoint-refused"
    http_status = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """An address as it was looked up once; the connection goes to ``address``."""

    scheme: str
    host: str  # as written, for SNI, the certificate and the Host header
    port: int
    path: str
    address: str

    @property
    def host_header(self) -> str:
        """The Host header: the port only where it is not the scheme's own."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        own = {"https": 443, "http": 80}[self.scheme]
        return host if self.port == own else f"{host}:{self.port}"


def is_public(text: str) -> bool:
    """Return whether an address may be reached from here, inner addresses included."""
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return False
    if isinstance(address, ipaddress.IPv6Address) and address.scope_id:
        return False
    return all(_is_plainly_public(each) for each in (address, *_inner(address)))


def _is_plainly_public(address: Address) -> bool:
    if any(address in network for network in REFUSED):
        return False
    return address in NAT64 or (address.is_global and not address.is_multicast)


def _inner(address: Address) -> tuple[Address, ...]:
    if isinstance(address, ipaddress.IPv4Address):
        return ()
    if address.ipv4_mapped is not None:
        return (address.ipv4_mapped,)
    if address in NAT64 or address in IPV4_COMPATIBLE:
        return (ipaddress.IPv4Address(int(address) & 0xFFFF_FFFF),)
    return ()


def looked_up(host: str, port: int) -> list[str]:
    """Return every address of a host, as the system's resolver knows them."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return [str(entry[4][0]) for entry in found]


def target_of(url: str, *, allows_loopback: bool, lookup: Lookup = looked_up) -> Target:
    """Return where to connect, the name looked up once and every answer public.

    One answer that is not public refuses the name: a resolver that mixes both is
    misused or misled. ``allows_loopback`` is for tests and development.

    Raises:
        EndpointRefused: the address is malformed, or leads inside.
    """
    scheme, host, port, path = _parts(url, allows_loopback=allows_loopback)
    try:
        addresses = list(dict.fromkeys(lookup(host, port)))
    except (OSError, UnicodeError):
        addresses = []
    if not addresses:
        raise EndpointRefused(f"No address was found for {host}. Check the name.")
    are_loopback = allows_loopback and all(map(_is_loopback, addresses))
    if not are_loopback:
        if scheme != "https" or port not in PORTS:
            raise EndpointRefused("Use https on port 443 or 8443.")
        if not all(map(is_public, addresses)):
            raise EndpointRefused(
                f"{host} leads to an address that is not public. Webhooks are sent to "
                "public addresses only."
            )
    return Target(scheme=scheme, host=host, port=port, path=path, address=addresses[0])


def _is_loopback(text: str) -> bool:
    return ipaddress.ip_address(text).is_loopback


def _parts(url: str, *, allows_loopback: bool) -> tuple[str, str, int, str]:
    wrong = EndpointRefused(
        "Write the address as https://host/path, without a user name and fragment."
    )
    if len(url) > URL_LENGTH_MAX or not url.isascii() or not url.isprintable():
        raise wrong
    try:
        parts = urlsplit(url)
        host, port = parts.hostname, parts.port
    except ValueError:
        raise wrong from None
    schemes = LOOPBACK_SCHEMES if allows_loopback else {"https"}
    if parts.scheme not in schemes or not host or " " in url or "\\" in url:
        raise wrong
    if "@" in parts.netloc or "#" in url or "%" in host:
        raise wrong
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    default = 443 if parts.scheme == "https" else 80
    return parts.scheme, host, default if port is None else port, path
