"""A second factor: time-based codes (RFC 6238) from a phone, and recovery codes."""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
from datetime import datetime

import pyotp
from cryptography.fernet import Fernet
from django.conf import settings
from django.db import transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac

from fleet.actions.access_log import note_access
from fleet.actions.sign_in import (
    TooManyTries,
    count_tries,
    forget_tries,
    subject_of,
)
from fleet.client_address import network_of
from fleet.errors import DomainError
from fleet.models import AccessKind, RecoveryCode, SecondFactor, TriedBy, User

STEP_S = 30
# A phone's clock may be off by one step, as RFC 6238, 5.2 recommends.
STEPS_OFF = (0, -1, 1)
RECOVERY_CODES = 10
# Without look-alikes: they are copied from paper.
RECOVERY_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"
RECOVERY_LENGTH = 12


class CodeRefused(DomainError):
    """The code is wrong, too old or was used before."""

    code = "code-refused"
    http_status = 401


class FactorKnown(DomainError):
    """A second factor is set up already."""

    code = "second-factor-known"
    http_status = 409


def begin_factor(*, user: User, now: datetime) -> str:
    """Return the secret that a phone is to take in; it counts once a code confirms it.

    Raises:
        FactorKnown: one is confirmed; remove it first.
    """
    with transaction.atomic():
        known = SecondFactor.objects.select_for_update().filter(user=user).first()
        if known is not None and known.confirmed_at:
            raise FactorKnown("A second factor is set up. Remove it first.")
        if known is not None:
            return unsealed(known.sealed_secret)
        secret = pyotp.random_base32()
        SecondFactor.objects.create(
            user=user, sealed_secret=sealed(secret), made_at=now
        )
    return secret


def confirm_factor(*, user: User, code: str, address: str, now: datetime) -> list[str]:
    """Count the factor from now on; return the recovery codes, told only once.

    Raises:
        CodeRefused: the code is not the phone's, or there is nothing to confirm.
        TooManyTries: too many wrong codes.
    """
    factor = SecondFactor.objects.filter(user=user, confirmed_at=None).first()
    if factor is None:
        raise CodeRefused("There is nothing to confirm. Load the page again.")
    counted = _counted(user, address, now)
    if not _takes(factor, code, now):
        raise CodeRefused(
            "This code is not right. Wait for the next one; check the phone's clock."
        )
    forget_tries(counted)
    with transaction.atomic():
        SecondFactor.objects.filter(pk=factor.pk).update(confirmed_at=now)
        note_access(AccessKind.FACTOR_SET, now=now, by=user, address=address)
        return new_recovery_codes(user=user, now=now, address=address)


def new_recovery_codes(*, user: User, now: datetime, address: str) -> list[str]:
    """Return ten codes, told only once; older ones are good for nothing any more."""
    codes = [
        "".join(secrets.choice(RECOVERY_LETTERS) for _ in range(RECOVERY_LENGTH))
        for _ in range(RECOVERY_CODES)
    ]
    with transaction.atomic():
        RecoveryCode.objects.filter(user=user).delete()
        RecoveryCode.objects.bulk_create(
            [RecoveryCode(user=user, code_hmac=_keyed(user, each)) for each in codes]
        )
        note_access(AccessKind.RECOVERY_MADE, now=now, by=user, address=address)
    return [f"{each[:4]}-{each[4:8]}-{each[8:]}" for each in codes]


def check_code(*, user: User, code: str, address: str, now: datetime) -> None:
    """Take a phone's code or a recovery code, each once.

    Raises:
        TooManyTries: too many wrong codes; nothing was looked at.
        CodeRefused: wrong, too old, or used before.
    """
    counted = _counted(user, address, now)
    factor = SecondFactor.objects.filter(user=user, confirmed_at__isnull=False).first()
    if factor is not None and _takes(factor, code, now):
        forget_tries(counted)
        return
    if factor is not None and _recovers(user, code, now):
        note_access(AccessKind.RECOVERY_USED, now=now, by=user, address=address)
        forget_tries(counted)
        return
    note_access(AccessKind.CODE_FAILED, now=now, by=user, address=address)
    raise CodeRefused("This code is not right, or was used. Wait for the next one.")


def remove_factor(*, user: User, by: User, address: str, now: datetime) -> None:
    """Sign this person in by password alone again: their own wish, or the office's."""
    with transaction.atomic():
        removed, _ = SecondFactor.objects.filter(user=user).delete()
        RecoveryCode.objects.filter(user=user).delete()
        if removed:
            note_access(
                AccessKind.FACTOR_REMOVED,
                now=now,
                by=by,
                owner_id=user.owner_id,
                address=address,
                about=user.uuid,
                detail=str(user),
            )


def has_factor(user: User) -> bool:
    """Return whether this person signs in with a second factor."""
    return SecondFactor.objects.filter(user=user, confirmed_at__isnull=False).exists()


def _counted(user: User, address: str, now: datetime) -> list[int]:
    try:
        return count_tries(
            {
                TriedBy.ACCOUNT: subject_of(f"code of {user.uuid}"),
                TriedBy.NETWORK: network_of(address),
            },
            now=now,
        )
    except TooManyTries:
        note_access(AccessKind.SIGN_IN_HELD, now=now, by=user, address=address)
        raise


def _takes(factor: SecondFactor, code: str, now: datetime) -> bool:
    """Take a code of a step that is later than the last one taken."""
    typed = "".join(code.split())
    if not (typed.isascii() and typed.isdecimal()):
        return False
    phone = pyotp.TOTP(unsealed(factor.sealed_secret))
    this_step = int(now.timestamp()) // STEP_S
    matching = [
        this_step + off
        for off in STEPS_OFF
        if hmac.compare_digest(phone.generate_otp(this_step + off), typed)
    ]
    if not matching:
        return False
    rows = SecondFactor.objects.filter(pk=factor.pk, last_step__lt=matching[0])
    return rows.update(last_step=matching[0]) == 1


def _recovers(user: User, code: str, now: datetime) -> bool:
    typed = "".join(each for each in code.lower() if each.isalnum())
    unused = Q(user=user, code_hmac=_keyed(user, typed), used_at__isnull=True)
    return RecoveryCode.objects.filter(unused).update(used_at=now) == 1


def _keyed(user: User, code: str) -> str:
    text = f"{user.uuid}:{code}".encode("utf-8", "surrogatepass").hex()
    return salted_hmac("fleet.recovery", text, algorithm="sha256").hexdigest()


def _box() -> Fernet:
    key = hashlib.sha256(f"second factor:{settings.SECRET_KEY}".encode()).digest()
    return Fernet(base64.urlsafe_b64encode(key))


def sealed(secret: str) -> str:
    """Return a secret as the database keeps it."""
    return _box().encrypt(secret.encode()).decode()


def unsealed(kept: str) -> str:
    """Return a kept secret."""
    return _box().decrypt(kept.encode()).decode()
