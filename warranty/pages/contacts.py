"""Contacts of a coach's owner, kept by the office."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from fleet.actions.contacts import add_contact, change_contact, remove_contact
from fleet.errors import NotFound
from fleet.models import Contact
from fleet.selectors.contacts import contacts_visible_to
from warranty.pages.access import form, office_of, written_page
from warranty.pages.promise_forms import ContactForm
from warranty.pages.promises import filled_in, roof_of

_PLAIN = ("role", "name", "phone", "email", "note")


@written_page
def add(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Add somebody to reach about the coach under a roof."""
    office_of(request)
    roof = roof_of(request, uuid)
    holder = roof.coach.holder
    if holder is None:
        raise NotFound("Nobody holds this coach on record. Record its owner first.")

    def do(told: dict[str, object]) -> str:
        only_here = told.pop("only_here")
        made = add_contact(
            owner=holder,
            coach=roof.coach if only_here else None,
            **told,  # type: ignore[arg-type]  # the form's fields
        )
        return f"{made.name} is added."

    return filled_in(
        request,
        ContactForm(request.POST or None),
        do,
        roof=roof,
        title=f"Add a contact of {holder.name}",
        intro="A contact is private: it stays with its owner when the coach is sold, "
        "and goes when the owner is erased.",
        submit="Add the contact",
    )


@written_page
def change(request: HttpRequest, uuid: UUID, contact: UUID) -> HttpResponse:
    """Change how a contact is reached."""
    office_of(request)
    roof, found = roof_of(request, uuid), _contact(request, contact)

    def do(told: dict[str, object]) -> str:
        changes = {name: told[name] for name in _PLAIN}
        changes["coach"] = roof.coach if told["only_here"] else None
        made = change_contact(contact=found, version=_version(request), changes=changes)
        return f"{made.name} is changed."

    first = {name: getattr(found, name) for name in _PLAIN}
    return filled_in(
        request,
        ContactForm(
            request.POST or None,
            initial={**first, "only_here": found.coach_id == roof.coach_id},
        ),
        do,
        roof=roof,
        title=f"Change {found.name}",
        submit="Keep the change",
        version=request.POST.get("version", found.version),
    )


@form
def remove(request: HttpRequest, uuid: UUID, contact: UUID) -> HttpResponse:
    """Remove a contact; nothing of it is kept."""
    office_of(request)
    roof, found = roof_of(request, uuid), _contact(request, contact)
    remove_contact(contact=found)
    messages.success(request, "The contact is removed.")
    return redirect("roof", uuid=roof.uuid)


def _contact(request: HttpRequest, uuid: UUID) -> Contact:
    found: Contact = get_object_or_404(
        contacts_visible_to(office_of(request)), uuid=uuid
    )
    return found


def _version(request: HttpRequest) -> int:
    sent = request.POST.get("version", "")
    return int(sent) if sent.isdecimal() and len(sent) < 9 else 0
