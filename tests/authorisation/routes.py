"""Every operation of the program, as its routes tell it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver

API = "api/v1/"
# Catch what is no address; there is nothing behind them.
CATCH_ALL = frozenset({"api/v1/^.*$", "^api/"})
FIELD_METHODS = {"batch": "POST", "ops": "PUT", "pair": "POST", "photos": "PUT"}


@dataclass(frozen=True, slots=True, order=True)
class Operation:
    """One method of one address."""

    address: str
    method: str

    def __str__(self) -> str:
        return f"{self.method} /{self.address}"

    @property
    def is_api(self) -> bool:
        return self.address.startswith(API)


def operations() -> list[Operation]:
    """Return every operation, in the order of its address."""
    return sorted(
        Operation(address, method)
        for address, pattern in _addresses(get_resolver().url_patterns)
        if address not in CATCH_ALL
        for method in _methods(address, pattern)
    )


def _addresses(
    patterns: list[URLPattern | URLResolver], before: str = ""
) -> Iterator[tuple[str, URLPattern]]:
    for each in patterns:
        address = before + str(each.pattern)
        if isinstance(each, URLResolver):
            yield from _addresses(each.url_patterns, address)
        else:
            yield address, each


def _methods(address: str, pattern: URLPattern) -> list[str]:
    actions = getattr(pattern.callback, "actions", None)
    if actions:
        # Django adds HEAD beside GET once an address was asked.
        return [name.upper() for name in actions if name != "head"]
    if address.startswith("api/field/"):
        return [FIELD_METHODS.get(address.split("/")[2], "GET")]
    if address.startswith(API):
        return ["GET"]
    # A page that is only looked at answers 405 to a form, and the other way round.
    return ["GET", "POST"]
