"""Contacts beside the owner: add, change, remove."""

from __future__ import annotations

from collections.abc import Mapping
from uuid import UUID, uuid4

from django.db.models import F

from fleet.actions.errors import InvalidValue, OwnerChanged
from fleet.models import Coach, Contact, ContactRole, Owner


def add_contact(
    *,
    owner: Owner,
    role: str,
    name: str,
    phone: str = "",
    email: str = "",
    note: str = "",
    coach: Coach | None = None,
    uuid: UUID | None = None,
) -> Contact:
    """Add somebody to reach about an owner's coaches, or about one of them.

    Raises:
        InvalidValue: no name, no way to reach them, or a coach of somebody else.
    """
    _check(owner, role=role, name=name, phone=phone, email=email, coach=coach)
    return Contact.objects.create(
        uuid=uuid or uuid4(),
        owner=owner,
        coach=coach,
        role=role,
        name=name.strip(),
        phone=phone.strip(),
        email=email.strip(),
        note=note.strip(),
    )


def change_contact(
    *, contact: Contact, version: int, changes: Mapping[str, object]
) -> Contact:
    """Change how a contact is reached, from the version that was read.

    Raises:
        InvalidValue: no name, or no way to reach them.
        OwnerChanged: somebody else changed it since.
    """
    told = {
        name: changes.get(name, getattr(contact, name))
        for name in ("role", "name", "phone", "email", "coach")
    }
    _check(contact.owner, **told)  # type: ignore[arg-type]  # shape checked
    same = Contact.objects.filter(pk=contact.pk, version=version)
    if not same.update(version=F("version") + 1, **changes):
        raise OwnerChanged(
            "The record has changed since you read it. Read it again, then decide."
        )
    contact.refresh_from_db()
    return contact


def remove_contact(*, contact: Contact) -> None:
    """Remove a contact; nothing of it is kept."""
    Contact.objects.filter(pk=contact.pk).delete()


def _check(
    owner: Owner,
    *,
    role: str,
    name: str,
    phone: str,
    email: str,
    coach: Coach | None,
) -> None:
    if role not in ContactRole.values:
        raise InvalidValue("role", "Say who they are to the owner.")
    if not name.strip():
        raise InvalidValue("name", "A contact needs a name.")
    if not phone.strip() and not email.strip():
        raise InvalidValue("phone", "Give a telephone number or an e-mail address.")
    if coach is not None and coach.holder_id != owner.pk:
        raise InvalidValue("coach", f"Coach {coach.unit_no} is not held by this owner.")
