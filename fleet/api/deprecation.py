"""Addresses that will go: said in every answer, long before they do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http.response import HttpResponseBase
from django.utils.http import http_date


@dataclass(frozen=True, slots=True, kw_only=True)
class Deprecation:
    """From when an action should not be used, when it goes, and what comes instead."""

    since: datetime
    sunset: datetime | None = None
    successor: str = ""


def announce(response: HttpResponseBase, told: Deprecation) -> None:
    """Add Deprecation (RFC 9745), Sunset (RFC 8594) and the successor's link."""
    response.headers["Deprecation"] = f"@{int(told.since.timestamp())}"
    if told.sunset is not None:
        response.headers["Sunset"] = http_date(told.sunset.timestamp())
    if told.successor:
        link = f'<{told.successor}>; rel="successor-version"'
        before = response.headers.get("Link")
        response.headers["Link"] = f"{before}, {link}" if before else link
