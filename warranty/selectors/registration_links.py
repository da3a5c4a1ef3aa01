"""Links that register a coverage, and what their page may tell."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from django.core import signing

from fleet.ledger.canonical import sha256_hex
from fleet.ledger.correction import rows_that_stand
from warranty.models import Registration, RegistrationLink
from warranty.selectors.terms import edition_promised

LINK_SALT: Final = "warranty.registration-link"
_LONGEST_CODE: Final = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkPage:
    """What an owner's link shows: the promise and its deadline, nobody's name."""

    title: str
    edition: str
    version: int
    completed_on: date | None
    deadline_on: date | None
    is_late: bool


def link_of(code: str, *, now: datetime) -> RegistrationLink | None:
    """Return the link that still registers something, by its signed code."""
    if len(code) > _LONGEST_CODE:
        return None
    try:
        # A made-up code costs no query.
        signing.Signer(salt=LINK_SALT).unsign(code)
    except signing.BadSignature:
        return None
    links = RegistrationLink.objects.select_related("roof__coach", "made_by")
    return links.filter(
        code_sha256=sha256_hex(code), used_at__isnull=True, expires_at__gt=now
    ).first()


def registration_of(roof_id: int) -> Registration | None:
    """Return the registration that counts, or None."""
    rows = Registration.objects.filter(roof_id=roof_id).order_by("registered_on", "pk")
    standing = rows_that_stand(list(rows)).rows
    return standing[0] if standing else None


def link_page(link: RegistrationLink, *, today: date) -> LinkPage | None:
    """Return what the link's page tells; None without a promise."""
    edition = edition_promised(link.roof_id)
    if edition is None:
        return None
    completed_on = link.roof.completed_on
    deadline_on = (
        completed_on + timedelta(days=edition.registration_days)
        if completed_on
        else None
    )
    return LinkPage(
        title=edition.title,
        edition=edition.code,
        version=edition.version,
        completed_on=completed_on,
        deadline_on=deadline_on,
        is_late=deadline_on is not None and today > deadline_on,
    )
