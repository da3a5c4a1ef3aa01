"""How many requests a caller has left: RateLimit and RateLimit-Policy (IETF draft
draft-ietf-httpapi-ratelimit-headers), and 429 (RFC 6585) when none are."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings

from fleet.errors import DomainError
from fleet.rates import WINDOW_S, count_request

POLICY = "minute"


class TooManyRequests(DomainError):
    """More requests than the caller has in one window."""

    code = "too-many-requests"
    http_status = 429


@dataclass(frozen=True, slots=True, kw_only=True)
class Quota:
    """What one caller has in the present window."""

    limit: int
    used: int
    seconds_left: int

    @property
    def headers(self) -> dict[str, str]:
        """The headers that tell of it."""
        left = max(self.limit - self.used, 0)
        return {
            "RateLimit-Policy": f'"{POLICY}";q={self.limit};w={WINDOW_S}',
            "RateLimit": f'"{POLICY}";r={left};t={self.seconds_left}',
        }

    def require(self) -> None:
        """Refuse a request beyond the limit.

        Raises:
            TooManyRequests: the caller has to wait for the next window.
        """
        if self.used > self.limit:
            raise TooManyRequests(
                f"{self.limit} requests a minute are allowed. Wait "
                f"{self.seconds_left} s, then go on.",
                retry_after_s=self.seconds_left,
            )


def quota_of(principal: str, now: datetime) -> Quota | None:
    """Count a request and return what is left; None where nothing is limited."""
    limit: int = settings.API_REQUESTS_PER_MINUTE
    if not limit:
        return None
    second = int(now.timestamp())
    used = count_request(principal=principal, window=second // WINDOW_S)
    left = WINDOW_S - second % WINDOW_S
    return Quota(limit=limit, used=used, seconds_left=left)
