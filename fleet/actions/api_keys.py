"""Make, change, know and revoke the keys of a fleet's programs."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Collection
from datetime import datetime, timedelta
from uuid import uuid4

from django.db import transaction
from django.db.models import F, Q

from fleet.actions.access_log import note_access
from fleet.actions.errors import InvalidValue
from fleet.actions.sign_in import count_tries
from fleet.client_address import network_of
from fleet.errors import DomainError, NotAllowed, NotFound
from fleet.models import (
    AccessKind,
    ApiKey,
    ApiKeySecret,
    KeyRight,
    Owner,
    OwnerKind,
    Role,
    TriedBy,
    User,
)
from fleet.selectors.scopes import scope_of

FORM = "rr"
PREFIX_BYTES = 6
SECRET_BYTES = 32
LONGEST_DAYS = 366
USED_EVERY = timedelta(minutes=1)
# Compared with where no such key is: a wrong key costs what an unknown one costs.
NO_DIGEST = "0" * 64


class KeyRefused(DomainError):
    """Unknown, wrong, expired or revoked: which is not told."""

    code = "not-authenticated"
    http_status = 401


class TwoSecretsLive(DomainError):
    """A key changes over from one secret to another, not to a third."""

    code = "two-secrets-live"
    http_status = 409


class KeyRevoked(DomainError):
    """A revoked key stays revoked."""

    code = "key-revoked"
    http_status = 409


def make_key(
    *,
    owner: Owner,
    name: str,
    rights: Collection[str],
    days: int,
    by: User,
    now: datetime,
) -> tuple[ApiKey, str]:
    """Return a new key and its secret, which is told only once.

    Raises:
        NotAllowed: the asker is not the office and not of this fleet.
        InvalidValue: no name, no right, or days that are too many.
    """
    _refuse_stranger(owner.pk, by)
    named = name.strip()[:60]
    if not named:
        raise InvalidValue("name", "Name the program that will use this key.")
    if owner.kind != OwnerKind.RENTAL_FLEET:
        raise InvalidValue("owner", "Only rental fleets have keys.")
    wanted = {KeyRight(each) for each in rights}
    if not wanted:
        raise InvalidValue("rights", "Choose at least one right.")
    with transaction.atomic():
        user = User(
            username=f"key-{uuid4()}",
            first_name=f"Key: {named}"[:150],
            role=Role.FLEET_MANAGER,
            owner=owner,
        )
        user.set_unusable_password()
        user.save()
        key = ApiKey.objects.create(
            owner=owner,
            user=user,
            name=named,
            may_read=KeyRight.READ in wanted,
            may_write=KeyRight.WRITE in wanted,
            may_claim=KeyRight.CLAIMS in wanted,
            made_at=now,
            made_by=by,
        )
        word = _new_secret(key, slot=1, days=days, now=now)
        _note(AccessKind.KEY_MADE, key, by, now, ", ".join(sorted(wanted)))
    return key, word


def rotate_key(
    *, key: ApiKey, days: int, keep_old_hours: int, by: User, now: datetime
) -> str:
    """Return a further secret; the one before ends after so many hours.

    Raises:
        KeyRevoked: the key was revoked.
        TwoSecretsLive: two are live; wait until the older has ended.
    """
    _refuse_stranger(key.owner_id, by)
    with transaction.atomic():
        key = ApiKey.objects.select_for_update().get(pk=key.pk)
        if key.revoked_at:
            raise KeyRevoked("This key was revoked. Make another one.")
        live = key.secrets.filter(ended_at__isnull=True)
        live.filter(expires_at__lte=now).update(ended_at=F("expires_at"))
        slots = set(live.values_list("slot", flat=True))
        if len(slots) == 2:
            raise TwoSecretsLive(
                "Two secrets of this key are live. Wait until the older has ended, or "
                "revoke the key."
            )
        end = now + timedelta(hours=keep_old_hours)
        # An immediate end is written as one; expires_at stays after made_at.
        if keep_old_hours == 0:
            live.update(ended_at=now)
        else:
            live.filter(expires_at__gt=end).update(expires_at=end)
        word = _new_secret(key, slot=2 if 1 in slots else 1, days=days, now=now)
        _note(AccessKind.KEY_ROTATED, key, by, now, key.name)
    return word


def revoke_key(*, key: ApiKey, by: User, now: datetime) -> ApiKey:
    """Refuse a key from now on; revoking twice is revoking once."""
    _refuse_stranger(key.owner_id, by)
    with transaction.atomic():
        fresh = ApiKey.objects.filter(pk=key.pk, revoked_at__isnull=True)
        if fresh.update(revoked_at=now):
            key.secrets.filter(ended_at__isnull=True).update(ended_at=now)
            User.objects.filter(pk=key.user_id).update(is_active=False)
            _note(AccessKind.KEY_REVOKED, key, by, now, key.name)
    key.refresh_from_db()
    return key


def key_of(*, word: str, address: str, now: datetime) -> ApiKey:
    """Return the key whose secret this is; note its use once a minute.

    Raises:
        KeyRefused: unknown, wrong, expired or revoked.
        TooManyTries: this network sent too many wrong ones.
    """
    prefix, digest = _parts(word)
    secret = (
        ApiKeySecret.objects.select_related("key__user__owner")
        .filter(prefix=prefix)
        .first()
    )
    kept = secret.secret_sha256 if secret else NO_DIGEST
    is_right = hmac.compare_digest(kept, digest)
    if secret is None or not is_right or not _is_live(secret, now):
        _refuse(secret if is_right else None, prefix, address, now)
        raise KeyRefused("This key is not valid. Check it, or make another one.")
    _note_use(secret, address, now)
    return secret.key


def _refuse(
    secret: ApiKeySecret | None, prefix: str, address: str, now: datetime
) -> None:
    """Count a refused key against its network, and write it down.

    Raises:
        TooManyTries: there were too many; no more are written down.
    """
    count_tries({TriedBy.NETWORK: network_of(address)}, now=now)
    note_access(
        AccessKind.KEY_REFUSED,
        now=now,
        by=secret.key.user if secret else None,
        address=address,
        about=secret.key.uuid if secret else None,
        detail=prefix,
    )


def _note_use(secret: ApiKeySecret, address: str, now: datetime) -> None:
    last = secret.last_used_at
    if last is not None and last > now - USED_EVERY:
        return
    stale = Q(last_used_at__isnull=True) | Q(last_used_at__lte=now - USED_EVERY)
    with transaction.atomic():
        if ApiKeySecret.objects.filter(stale, pk=secret.pk).update(last_used_at=now):
            note_access(
                AccessKind.KEY_USED,
                now=now,
                by=secret.key.user,
                address=address,
                about=secret.key.uuid,
                detail=secret.prefix,
            )


def _is_live(secret: ApiKeySecret, now: datetime) -> bool:
    return (
        secret.ended_at is None
        and now < secret.expires_at
        and secret.key.revoked_at is None
        and secret.key.user.is_active
    )


def _parts(word: str) -> tuple[str, str]:
    """Return prefix and hash of what was sent, whatever it is."""
    form, _, rest = word.partition("_")
    prefix, _, secret = rest.partition("_")
    if form != FORM or not prefix.isascii() or not prefix.isalnum():
        prefix = ""
    digest = hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
    return prefix[:12], digest


def _new_secret(key: ApiKey, *, slot: int, days: int, now: datetime) -> str:
    if not 1 <= days <= LONGEST_DAYS:
        raise InvalidValue("days", f"A secret is good for 1 to {LONGEST_DAYS} days.")
    prefix = secrets.token_hex(PREFIX_BYTES)
    secret = secrets.token_urlsafe(SECRET_BYTES)
    ApiKeySecret.objects.create(
        key=key,
        slot=slot,
        prefix=prefix,
        secret_sha256=hashlib.sha256(secret.encode()).hexdigest(),
        made_at=now,
        expires_at=now + timedelta(days=days),
    )
    return f"{FORM}_{prefix}_{secret}"


def _refuse_stranger(owner_id: int, by: User) -> None:
    """Refuse those who do not look after these keys.

    Raises:
        NotFound: a fleet manager of another fleet asks: there is no such key.
        NotAllowed: a technician, or a key itself.
    """
    if hasattr(by, "api_key"):
        raise NotAllowed("A key makes and changes no keys. Sign in for that.")
    if by.role == Role.OFFICE:
        return
    if by.role != Role.FLEET_MANAGER:
        raise NotAllowed("Only the office and fleet managers look after keys.")
    if owner_id not in scope_of(by).owner_ids:
        raise NotFound("No such record. Check the address and the id.")


def _note(kind: AccessKind, key: ApiKey, by: User, now: datetime, detail: str) -> None:
    note_access(
        kind, now=now, by=by, owner_id=key.owner_id, about=key.uuid, detail=detail
    )
