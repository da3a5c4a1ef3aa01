"""Contacts beside an owner: spouse, driver, campground, yard."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.contacts import add_contact, change_contact, remove_contact
from fleet.api.base import (
    Lists,
    RegisterViewSet,
    Versioned,
    etag_of,
    named,
    require_match,
)
from fleet.api.caller import Permit
from fleet.api.schema import IF_MATCH, IF_NONE_MATCH
from fleet.api.shape import In, Out, word
from fleet.models import Contact, ContactRole
from fleet.selectors.contacts import contacts_visible_to
from fleet.selectors.scopes import coaches_visible_to, owners_visible_to

CONTACT_NOTE_LENGTH = 2000
# Named apart in the document: a person's role at the office is another thing.
CONTACT_ROLE_CHOICES = ContactRole.choices


class ContactChangeIn(In):
    """What may change about a contact."""

    role = serializers.ChoiceField(CONTACT_ROLE_CHOICES, required=False)
    name = word(200)
    phone = word(32)
    email = serializers.EmailField(required=False, allow_blank=True)
    note = word(CONTACT_NOTE_LENGTH)


class ContactIn(In):
    """Somebody to reach about an owner's coaches, or about one of them."""

    uuid = serializers.UUIDField(required=False)
    owner = serializers.UUIDField()
    coach = serializers.UUIDField(required=False)
    role = serializers.ChoiceField(CONTACT_ROLE_CHOICES)
    name = word(200, required=True)
    phone = word(32)
    email = serializers.EmailField(required=False, allow_blank=True)
    note = word(CONTACT_NOTE_LENGTH)


class ContactOut(Out):
    """Somebody to reach about an owner's coaches. Private: it can be erased."""

    owner = serializers.UUIDField(source="owner.uuid")
    coach = serializers.UUIDField(source="coach.uuid", default=None, allow_null=True)
    role = serializers.ChoiceField(CONTACT_ROLE_CHOICES)

    class Meta:
        model = Contact
        fields = (
            "uuid",
            "owner",
            "coach",
            "role",
            "name",
            "phone",
            "email",
            "note",
            "version",
        )


class ContactFilters(django_filters.FilterSet):
    """What contacts can be narrowed by."""

    owner = django_filters.UUIDFilter(field_name="owner__uuid")
    coach = django_filters.UUIDFilter(field_name="coach__uuid")


class ContactViewSet(Versioned, Lists, RegisterViewSet):
    """Contacts. They stay with their owner when a coach is sold."""

    serializer_class = ContactOut
    filterset_class = ContactFilters
    http_method_names = ("get", "post", "patch", "head")
    is_idempotent = True
    permits = {
        "create": Permit.OFFICE,
        "partial_update": Permit.OFFICE,
        "remove": Permit.OFFICE,
    }
    bodies = {"create": ContactIn, "partial_update": ContactChangeIn}
    answers = {"remove": {"204": None}}
    headers_in = {"retrieve": (IF_NONE_MATCH,), "partial_update": (IF_MATCH,)}

    def get_queryset(self) -> QuerySet[Contact]:
        """Return the contacts in the caller's scope."""
        return contacts_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Add a contact."""
        body = self.body(request)
        owners, coaches = (
            owners_visible_to(self.caller.scope),
            coaches_visible_to(self.caller.scope),
        )
        body["owner"] = named(owners, body["owner"], "owner")
        if "coach" in body:
            body["coach"] = named(coaches, body["coach"], "coach")
        known = self.get_queryset().filter(uuid=body.get("uuid")).first()
        if known is not None:
            is_same = all(getattr(known, name) == body[name] for name in body)
            return self.known_already(known, is_same)
        contact = add_contact(**body)  # type: ignore[arg-type]  # shape checked
        headers = {
            "Location": f"{request.path}/{contact.uuid}",
            "ETag": etag_of(contact),
        }
        return self.answer(contact, status=201, headers=headers)

    def partial_update(self, request: Request, uuid: object) -> Response:
        """Change how a contact is reached, from the version that was read."""
        contact: Contact = self.get_object()  # type: ignore[assignment]  # a Contact
        require_match(request, contact)
        changed = change_contact(
            contact=contact, version=contact.version, changes=self.body(request)
        )
        return self.answer(changed, headers={"ETag": etag_of(changed)})

    def remove(self, request: Request, uuid: object) -> Response:
        """Remove a contact; nothing of it is kept."""
        remove_contact(contact=self.get_object())  # type: ignore[arg-type]  # a Contact
        return Response(status=204)
