"""What every template may show."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest


def office(request: HttpRequest) -> dict[str, str]:
    """Return the office's own name for the page head."""
    return {"company_name": settings.COMPANY_NAME}
