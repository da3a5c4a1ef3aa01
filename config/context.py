"""What every template may show."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone

from jobs.selectors import lanes_without_worker


def office(request: HttpRequest) -> dict[str, str]:
    """Return the office's own name for the page head."""
    return {"company_name": settings.COMPANY_NAME}


def later_work(request: HttpRequest) -> dict[str, Callable[[], tuple[str, ...]]]:
    """Return what a page asks to warn of lanes that nobody looks after."""
    return {"idle_lanes": lambda: lanes_without_worker(timezone.now())}
