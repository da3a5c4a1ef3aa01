"""Sign in: tries counted before a password is looked at, then what the password says.

Whether a name exists is not told by words, by counting or by time: every name is
counted alike, and Django hashes for unknown names too.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.contrib.auth import authenticate
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils.crypto import salted_hmac

from fleet.actions.access_log import note_access
from fleet.client_address import network_of
from fleet.errors import DomainError
from fleet.models import AccessKind, SignInTry, TriedBy, User

SPAN = timedelta(minutes=15)
MOST_TRIES = {TriedBy.ACCOUNT: 10, TriedBy.NETWORK: 60}
REFUSAL = (
    "The name or the password is not right. Check both and try again; capital letters "
    "count."
)


class SignInRefused(DomainError):
    """Name or password is wrong, or the account is closed: which is not told."""

    code = "sign-in-refused"
    http_status = 401


class TooManyTries(DomainError):
    """Too many tries of one name or from one network; it ends by itself."""

    code = "too-many-requests"
    http_status = 429


def check_password(*, name: str, password: str, address: str, now: datetime) -> User:
    """Return the person whose name and password these are.

    Raises:
        TooManyTries: the name or the network was tried too often; nothing was hashed.
        SignInRefused: wrong, unknown or closed.
    """
    try:
        counted = count_tries(
            {TriedBy.ACCOUNT: subject_of(name), TriedBy.NETWORK: network_of(address)},
            now=now,
        )
    except TooManyTries:
        note_access(
            AccessKind.SIGN_IN_HELD, now=now, address=address, detail=name[:150]
        )
        raise
    user = authenticate(username=name, password=password)
    if not isinstance(user, User):
        note_access(
            AccessKind.SIGN_IN_FAILED, now=now, address=address, detail=name[:150]
        )
        raise SignInRefused(REFUSAL)
    forget_tries(counted)
    return user


def subject_of(name: str) -> str:
    """Return the keyed form under which a typed name is counted."""
    text = name.strip().casefold().encode("utf-8", "surrogatepass").hex()
    return salted_hmac("fleet.sign_in", text, algorithm="sha256").hexdigest()


def count_tries(subjects: dict[TriedBy, str], *, now: datetime) -> list[int]:
    """Count one try of each subject and return the rows, or refuse.

    Counted in the database before anything is judged, so parallel tries on any number
    of processes see each other: exactly so many are judged within a span.

    Raises:
        TooManyTries: one of them has been tried too often; ``retry_after`` says when
            its span ends. A refused try is not counted: it must not lengthen the wait.
    """
    with transaction.atomic():
        rows = [_row(kind, subjects[kind], now) for kind in sorted(subjects)]
        for row in rows:
            if now - row.began_at >= SPAN:
                row.began_at, row.tries = now, 0
        spent = [row for row in rows if row.tries >= MOST_TRIES[TriedBy(row.tried_by)]]
        if spent:
            wait = max(row.began_at + SPAN - now for row in spent)
            raise TooManyTries(
                "Too many tries. Wait some minutes, then try again.",
                retry_after=max(1, int(wait.total_seconds()) + 1),
            )
        for row in rows:
            row.tries += 1
            row.save(update_fields=["began_at", "tries"])
    return [row.pk for row in rows]


def forget_tries(rows: list[int]) -> None:
    """Take back the tries of somebody who was right.

    The name is not in danger any more; of the network's tries only this one is taken.
    """
    SignInTry.objects.filter(pk__in=rows, tried_by=TriedBy.ACCOUNT).update(tries=0)
    SignInTry.objects.filter(pk__in=rows, tried_by=TriedBy.NETWORK, tries__gt=0).update(
        tries=F("tries") - 1
    )


def _row(kind: TriedBy, subject: str, now: datetime) -> SignInTry:
    """Return the locked row of a subject, made when it is the first."""
    rows = SignInTry.objects.select_for_update().filter(tried_by=kind, subject=subject)
    found = rows.first()
    if found is not None:
        return found
    try:
        with transaction.atomic():
            SignInTry.objects.create(
                tried_by=kind, subject=subject, began_at=now, tries=0
            )
    except IntegrityError:  # another process was first
        pass
    return rows.get()
