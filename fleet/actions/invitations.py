"""Invite people by a link that works once; close and open their accounts."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.signing import BadSignature, Signer
from django.db import IntegrityError, transaction

from fleet.actions.access_log import note_access
from fleet.actions.errors import InvalidValue
from fleet.errors import DomainError, NotAllowed
from fleet.models import AccessKind, Invitation, Owner, Role, Session, User

GOOD_FOR = timedelta(days=7)
_signer = Signer(salt="fleet.invitation")


class InvitationOver(DomainError):
    """Forged, unknown, used, withdrawn or too old: which is not told."""

    code = "invitation-over"
    http_status = 404


class InvitationSettled(DomainError):
    """It was accepted or withdrawn before."""

    code = "invitation-settled"
    http_status = 409


def invite(
    *, name: str, email: str, role: str, owner: Owner | None, by: User, now: datetime
) -> tuple[Invitation, str]:
    """Return an invitation and the word its link ends in, which is told only once.

    Raises:
        NotAllowed: a fleet manager may invite into the own fleet only.
        InvalidValue: no name, or an owner that does not go with the role.
    """
    if hasattr(by, "api_key"):
        raise NotAllowed("A key invites nobody. Sign in for that.")
    if by.role == Role.FLEET_MANAGER:
        if role != Role.FLEET_MANAGER:
            raise NotAllowed("You can invite managers of your own fleet.")
        owner = by.owner
    elif by.role != Role.OFFICE:
        raise NotAllowed("Only the office and fleet managers invite people.")
    if (role == Role.FLEET_MANAGER) != (owner is not None):
        raise InvalidValue(
            "owner", "A fleet manager belongs to one owner; nobody else."
        )
    named = name.strip()[:150]
    if not named:
        raise InvalidValue("name", "Give the person's name.")
    with transaction.atomic():
        made = Invitation.objects.create(
            name=named,
            email=email.strip(),
            role=role,
            owner=owner,
            invited_by=by,
            invited_at=now,
            expires_at=now + GOOD_FOR,
        )
        _note(AccessKind.INVITED, made, by, now)
    return made, _signer.sign(str(made.uuid))


def invitation_of(*, word: str, now: datetime) -> Invitation:
    """Return the invitation that a link names.

    Raises:
        InvitationOver: it is none, or none any more.
    """
    over = InvitationOver("This invitation is over. Ask for a new one.")
    try:
        uuid = UUID(_signer.unsign(word))
    except (BadSignature, ValueError):
        raise over from None
    found = Invitation.objects.select_related("owner", "invited_by").filter(
        uuid=uuid,
        accepted_at__isnull=True,
        withdrawn_at__isnull=True,
        expires_at__gt=now,
        invited_by__is_active=True,
    )
    invitation = found.first()
    if invitation is None:
        raise over
    return invitation


def accept(
    *, word: str, username: str, password: str, address: str, now: datetime
) -> User:
    """Return the new user, who chose name and password; the link is used up.

    Raises:
        InvitationOver: it is none, or was used meanwhile.
        InvalidValue: the name is taken or the password too weak.
    """
    with transaction.atomic():
        invitation = invitation_of(word=word, now=now)
        locked = Invitation.objects.select_for_update().get(pk=invitation.pk)
        if locked.accepted_at or locked.withdrawn_at:
            raise InvitationOver("This invitation is over. Ask for a new one.")
        user = _made_user(locked, username, password)
        locked.accepted_at, locked.user = now, user
        locked.save(update_fields=["accepted_at", "user"])
        note_access(
            AccessKind.INVITATION_TAKEN,
            now=now,
            by=user,
            address=address,
            about=locked.uuid,
            detail=user.username,
        )
    return user


def withdraw(*, invitation: Invitation, by: User, now: datetime) -> Invitation:
    """Take an invitation back.

    Raises:
        InvitationSettled: it was accepted or withdrawn before.
    """
    open_ones = Invitation.objects.filter(
        pk=invitation.pk, accepted_at__isnull=True, withdrawn_at__isnull=True
    )
    with transaction.atomic():
        if not open_ones.update(withdrawn_at=now):
            raise InvitationSettled("This invitation is settled. Load the page again.")
        _note(AccessKind.INVITATION_WITHDRAWN, invitation, by, now)
    invitation.refresh_from_db()
    return invitation


def close_user(*, user: User, by: User, now: datetime) -> User:
    """Refuse a person from now on and end their sessions; what they recorded stays.

    Raises:
        NotAllowed: nobody closes their own account.
    """
    if user.pk == by.pk:
        raise NotAllowed("You cannot deactivate yourself. Ask somebody else.")
    with transaction.atomic():
        if User.objects.filter(pk=user.pk, is_active=True).update(is_active=False):
            Session.objects.filter(user=user).delete()
            _note_user(AccessKind.USER_CLOSED, user, by, now)
    user.refresh_from_db()
    return user


def open_user(*, user: User, by: User, now: datetime) -> User:
    """Let a person sign in again."""
    with transaction.atomic():
        if User.objects.filter(pk=user.pk, is_active=False).update(is_active=True):
            _note_user(AccessKind.USER_OPENED, user, by, now)
    user.refresh_from_db()
    return user


def _made_user(invitation: Invitation, username: str, password: str) -> User:
    first, _, last = invitation.name.partition(" ")
    user = User(
        username=username.strip(),
        first_name=first[:150],
        last_name=last[:150],
        email=invitation.email,
        role=invitation.role,
        owner=invitation.owner,
    )
    _checked(
        "username", lambda: User._meta.get_field("username").clean(user.username, user)
    )
    _checked("password", lambda: validate_password(password, user))
    user.set_password(password)
    try:
        with transaction.atomic():
            user.save()
    except IntegrityError:
        raise InvalidValue(
            "username", "This name is taken. Choose another one."
        ) from None
    return user


def _checked(field: str, check: Callable[[], object]) -> None:
    try:
        check()
    except ValidationError as error:
        raise InvalidValue(field, " ".join(error.messages)) from None


def _note(kind: AccessKind, made: Invitation, by: User, now: datetime) -> None:
    note_access(
        kind,
        now=now,
        by=by,
        owner_id=made.owner_id,
        about=made.uuid,
        detail=f"{made.name}, {made.get_role_display()}",
    )


def _note_user(kind: AccessKind, user: User, by: User, now: datetime) -> None:
    note_access(
        kind,
        now=now,
        by=by,
        owner_id=user.owner_id,
        about=user.uuid,
        detail=user.username,
    )
