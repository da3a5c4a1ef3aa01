"""Hand an owner a link that registers a coverage, once."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.core import signing
from django.db import transaction

from fleet.civil import office_day
from fleet.errors import DomainError
from fleet.ledger.canonical import sha256_hex
from fleet.models import Roof, User
from warranty.actions.promises import register
from warranty.models import Registration, RegistrationLink
from warranty.selectors.registration_links import LINK_SALT, link_of, registration_of
from warranty.selectors.terms import edition_promised

KEPT_DAYS: Final = 60
# 80 bits: nobody guesses one before the link ends.
_CODE_BYTES: Final = 10


class NothingToRegister(DomainError):
    """The roof has no promise, or it is registered already."""

    code = "nothing-to-register"
    http_status = 409


class LinkUsed(DomainError):
    """The link registered a coverage already, or its time is over."""

    code = "link-used"
    http_status = 409


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeLink:
    """A new link; its code is told once and kept nowhere."""

    link: RegistrationLink
    code: str


def make_link(*, roof: Roof, by: User, now: datetime) -> MadeLink:
    """Make a link for the owner; those made before for this roof end now.

    Raises:
        NothingToRegister: no promise, or registered already.
    """
    if edition_promised(roof.pk) is None:
        raise NothingToRegister("No promise is made on this roof: assign terms first.")
    if registration_of(roof.pk) is not None:
        raise NothingToRegister("The coverage is registered already.")
    code = signing.Signer(salt=LINK_SALT).sign(secrets.token_hex(_CODE_BYTES))
    with transaction.atomic():
        RegistrationLink.objects.filter(
            roof=roof, used_at__isnull=True, expires_at__gt=now
        ).exclude(made_at__gte=now).update(expires_at=now)
        link = RegistrationLink.objects.create(
            roof=roof,
            code_sha256=sha256_hex(code),
            made_at=now,
            made_by=by,
            expires_at=now + timedelta(days=KEPT_DAYS),
        )
    return MadeLink(link=link, code=code)


def register_by_link(*, code: str, now: datetime) -> Registration:
    """Register the coverage that a link is for, dated today.

    Late is recorded as late: what that means is the edition's to say.

    Raises:
        LinkUsed: no such link, used before, or its time is over.
        NothingToRegister: the office has registered it meanwhile.
    """
    found = link_of(code, now=now)
    if found is None:
        raise LinkUsed("This link does not register anything any more. Ask the office.")
    with transaction.atomic():
        # Two taps at once: one of them takes the link.
        unused = RegistrationLink.objects.filter(pk=found.pk, used_at__isnull=True)
        if not unused.update(used_at=now):
            raise LinkUsed("This link was used already: the coverage is registered.")
        if registration_of(found.roof_id) is not None:
            raise NothingToRegister("The coverage is registered already.")
        kept = register(
            roof=found.roof,
            registered_on=office_day(now),
            # Nobody is signed in; who handed out the link answers for it.
            by=found.made_by,
            now=now,
            uuid=found.uuid,
            link=found,
        )
    if not isinstance(kept, Registration):
        raise TypeError("a registration was expected")
    return kept
