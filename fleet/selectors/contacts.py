"""Contacts, narrowed to whose they are."""

from __future__ import annotations

from django.db.models import QuerySet

from fleet.models import Contact, Owner
from fleet.scope import Scope
from fleet.selectors.scopes import within


def contacts_visible_to(scope: Scope) -> QuerySet[Contact]:
    """Return the contacts a caller may see: all, or those of the caller's own."""
    rows = Contact.objects.select_related("owner", "coach")
    return within(rows, scope, owner_path="owner_id")


def contacts_of(owner: Owner | None, scope: Scope) -> QuerySet[Contact]:
    """Return one owner's contacts by name, none of nobody."""
    rows = contacts_visible_to(scope)
    return rows.filter(owner=owner).order_by("name", "pk") if owner else rows.none()
