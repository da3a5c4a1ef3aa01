"""One effect a key: keep the answer with the effect, give it again, forget it later."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from django.db import connection

from fleet.errors import DomainError
from fleet.models import KeptAnswer

# Longer than any client goes on repeating one request.
KEPT_FOR = timedelta(days=7)
FORGOTTEN_AT_ONCE = 1000


class KeyInUse(DomainError):
    """A request under the same key is being worked on at this moment."""

    code = "request-in-progress"
    http_status = 409


class KeyUsedBefore(DomainError):
    """The key came before with another request."""

    code = "idempotency-key-reused"
    http_status = 422


class AnswerErased(DomainError):
    """It was done, and its answer is kept no more."""

    code = "answer-erased"
    http_status = 409


def key_hash(key: str) -> str:
    """Return what is kept of a key."""
    return hashlib.sha256(key.encode()).hexdigest()


def known_answer(*, principal: str, key: str, fingerprint: str) -> KeptAnswer | None:
    """Return what this caller was answered before under this key.

    Raises:
        KeyUsedBefore: that was another request.
        AnswerErased: the answer told of a person who was erased since.
    """
    kept = KeptAnswer.objects.filter(
        principal=principal, key_sha256=key_hash(key)
    ).first()
    if kept is None:
        return None
    if kept.fingerprint != fingerprint:
        raise KeyUsedBefore(
            "This Idempotency-Key came before with another request. Send each request "
            "under a key of its own."
        )
    if kept.body is None:
        raise AnswerErased(
            "This was done before and its answer is not kept. Read the record."
        )
    return kept


def hold_key(*, principal: str, key: str) -> None:
    """Hold the key until the open transaction ends, against others at this moment.

    SQLite needs nothing: its transaction has locked all other writers out already.

    Raises:
        KeyInUse: somebody holds it.
    """
    if connection.vendor != "postgresql":
        return
    digest = hashlib.sha256(f"{principal}\0{key}".encode()).digest()
    number = int.from_bytes(digest[:8], "big", signed=True)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [number])
        [is_ours] = cursor.fetchone()
    if not is_ours:
        raise KeyInUse(
            "The same request is being worked on. Send it again in a second."
        )


def keep_answer(
    *,
    principal: str,
    key: str,
    fingerprint: str,
    status: int,
    headers: dict[str, str],
    body: bytes,
    now: datetime,
) -> None:
    """Keep an answer in the transaction that has its effect."""
    KeptAnswer.objects.create(
        principal=principal,
        key_sha256=key_hash(key),
        fingerprint=fingerprint,
        status=status,
        headers=headers,
        body=body,
        answered_at=now,
    )


def forget_old_answers(*, now: datetime) -> int:
    """Remove answers that nobody asks for again, some at a time; return how many."""
    old = KeptAnswer.objects.filter(answered_at__lt=now - KEPT_FOR)
    ids = list(
        old.order_by("answered_at").values_list("pk", flat=True)[:FORGOTTEN_AT_ONCE]
    )
    return KeptAnswer.objects.filter(pk__in=ids).delete()[0] if ids else 0


def erase_kept_answers() -> None:
    """Empty every kept answer; the keys stay, so nothing is done twice."""
    KeptAnswer.objects.filter(body__isnull=False).update(body=None, headers={})
