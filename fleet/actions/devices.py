"""Pair phones with people by one-time codes; know them again; revoke them."""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac

from fleet.actions.errors import InvalidValue
from fleet.errors import DomainError, NotAllowed
from fleet.models import (
    FieldDevice,
    PairingAttempt,
    PairingCode,
    Role,
    Technician,
    User,
)

# Without 0/O, 1/I/L and their look-alikes when read aloud or from a wet screen.
CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
CODE_LENGTH = 8
CODE_LIFE = timedelta(minutes=10)
ATTEMPT_WINDOW = timedelta(minutes=10)
ATTEMPTS_MAX = 10
SEEN_EVERY = timedelta(minutes=10)
NAME_MAX = 60
WORKS_ON_ROOFS = (Role.TECHNICIAN, Role.OFFICE)


class CodeUnknown(DomainError):
    """The code is wrong, used or too old; which of them is not told."""

    code = "code-unknown"
    http_status = 404


class TooManyCodes(DomainError):
    """Too many wrong codes from one address."""

    code = "too-many-codes"
    http_status = 429


class DeviceUnknown(DomainError):
    """No phone has this token."""

    code = "device-unknown"
    http_status = 401


class DeviceRevoked(DomainError):
    """The office has revoked this phone, or its person works here no more."""

    code = "device-revoked"
    http_status = 401


def make_code(*, user: User, by: User, now: datetime) -> str:
    """Return a code that pairs one phone with a person, once, within ten minutes.

    Raises:
        NotAllowed: the person does no field work, or the asker may not pair others.
    """
    if not user.is_active or user.role not in WORKS_ON_ROOFS:
        raise NotAllowed("Only the office and its technicians pair a phone.")
    may_pair = by.role == Role.OFFICE or (
        by.pk == user.pk and by.role in WORKS_ON_ROOFS
    )
    if not may_pair:
        raise NotAllowed("Pair your own phone, or ask the office.")
    code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
    with transaction.atomic():
        PairingCode.objects.filter(expires_at__lte=now).delete()
        PairingCode.objects.create(
            user=user,
            code_hmac=_hmac(code),
            made_by=by,
            made_at=now,
            expires_at=now + CODE_LIFE,
        )
    return code


def pair(
    *, code: str, device_name: str, address: str, now: datetime
) -> tuple[FieldDevice, str]:
    """Return a new phone and its token, which is told only once.

    Raises:
        TooManyCodes: this address has tried ten wrong codes within ten minutes.
        CodeUnknown: the code is wrong, used or too old.
        InvalidValue: the phone has no name.
    """
    name = device_name.strip()[:NAME_MAX]
    if not name:
        raise InvalidValue("device_name", "Give the phone a name to know it by.")
    attempt = _counted_attempt(address, now)
    token = secrets.token_urlsafe(32)
    with transaction.atomic():
        found = PairingCode.objects.filter(
            code_hmac=_hmac(code.strip().upper()),
            used_at__isnull=True,
            expires_at__gt=now,
            user__is_active=True,
            user__role__in=WORKS_ON_ROOFS,
        )
        made = found.select_related("user").first()
        # Whoever sets used_at first has the code; a second phone finds none.
        if made is None or found.update(used_at=now) != 1:
            raise CodeUnknown("This code is wrong, used or too old. Make a new one.")
        _technician_of(made.user)
        device = FieldDevice.objects.create(
            user=made.user,
            name=name,
            token_sha256=_sha256(token),
            paired_at=now,
            last_seen_at=now,
        )
        attempt.delete()
    return device, token


def _counted_attempt(address: str, now: datetime) -> PairingAttempt:
    """Write an attempt before it is judged, so that parallel ones see each other."""
    since = now - ATTEMPT_WINDOW
    PairingAttempt.objects.filter(attempted_at__lte=since).delete()
    attempt = PairingAttempt.objects.create(address=address[:64], attempted_at=now)
    recent = PairingAttempt.objects.filter(
        address=attempt.address, attempted_at__gt=since
    )
    if recent.count() > ATTEMPTS_MAX:
        # A refused try proves nothing and must not lengthen the wait.
        attempt.delete()
        oldest = recent.order_by("attempted_at").values_list("attempted_at", flat=True)
        first = oldest.first() or now
        wait = first + ATTEMPT_WINDOW - now
        raise TooManyCodes(
            "Too many wrong codes from here. Wait, then make a new code.",
            retry_after=max(1, int(wait.total_seconds()) + 1),
        )
    return attempt


def device_of(*, token: str, now: datetime) -> FieldDevice:
    """Return the phone that has this token; note that it was seen.

    Raises:
        DeviceUnknown: no phone has it.
        DeviceRevoked: it was revoked, or its person may not send any more.
    """
    if not token:
        raise DeviceUnknown("This phone is not paired. Ask the office for a code.")
    device = (
        FieldDevice.objects.select_related("user")
        .filter(token_sha256=_sha256(token))
        .first()
    )
    if device is None:
        raise DeviceUnknown("This phone is not paired. Ask the office for a code.")
    user = device.user
    if device.revoked_at or not user.is_active or user.role not in WORKS_ON_ROOFS:
        raise DeviceRevoked(
            "This phone may not send any more. What is on it stays on it: ask the "
            "office to pair it again."
        )
    # One write in ten minutes, however often a phone asks.
    stale = Q(last_seen_at__isnull=True) | Q(last_seen_at__lte=now - SEEN_EVERY)
    if device.last_seen_at is None or device.last_seen_at <= now - SEEN_EVERY:
        FieldDevice.objects.filter(stale, pk=device.pk).update(last_seen_at=now)
    return device


def revoke_device(*, device: FieldDevice, by: User, now: datetime) -> None:
    """Refuse a phone from now on; what it sent stays.

    Raises:
        NotAllowed: somebody else's phone, and the asker is not the office.
    """
    if by.role != Role.OFFICE and by.pk != device.user_id:
        raise NotAllowed("Revoke your own phone, or ask the office.")
    FieldDevice.objects.filter(pk=device.pk, revoked_at__isnull=True).update(
        revoked_at=now, revoked_by=by
    )
    device.refresh_from_db()


def _technician_of(user: User) -> Technician:
    """Return the technician this person is, by a name of their own."""
    known = Technician.objects.filter(user=user).first()
    if known is not None:
        return known
    name = str(user)[:100]
    namesake = Technician.objects.filter(name=name).first()
    if namesake is not None and namesake.user_id is None:
        namesake.user = user
        namesake.save(update_fields=["user"])
        return namesake
    own = name if namesake is None else f"{name} ({user.pk})"
    return Technician.objects.create(name=own, user=user)


def _sha256(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _hmac(code: str) -> str:
    text = code.encode("utf-8", "surrogatepass").hex()
    return salted_hmac("fleet.pairing", text, algorithm="sha256").hexdigest()
