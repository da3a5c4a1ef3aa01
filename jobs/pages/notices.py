"""What people were told: the list, one message, previews, wishes."""

from __future__ import annotations

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.errors import InvalidValue
from fleet.errors import NotAllowed, NotFound
from fleet.scope import Scope
from fleet.selectors.scopes import owners_visible_to, roofs_visible_to, scope_of
from jobs.models import NEEDS_A_LOOK, Language
from jobs.notices import stopping
from jobs.notices.preview import previewed
from jobs.notices.selectors import (
    MessageQuery,
    message_counts,
    message_list,
    messages_visible_to,
    notices_of,
    stop_of,
    wish_of,
)
from jobs.notices.writing import Draft
from jobs.pages.notice_forms import MessageListForm, PreviewForm, WishForm
from jobs.paging import page_number
from warranty.pages.access import form, page
from warranty.rules.ladder import Step

KEEPS_FILES = "filebased.EmailBackend"


@page
def notices(request: HttpRequest) -> HttpResponse:
    """Show the messages that this person may see."""
    scope = scope_of(request.user)
    asked = MessageListForm(request.GET)
    query: MessageQuery = asked.query(page=page_number(request.GET.get("page", "1")))
    counts = message_counts(scope)
    context = {
        "form": asked,
        "found": message_list(scope, query),
        "look": sum(counts[state] for state in NEEDS_A_LOOK),
        "counts": counts,
        "is_asked": bool(request.GET),
        "is_office": scope.may_run_office,
        "keeps_files": settings.EMAIL_BACKEND.endswith(KEEPS_FILES),
    }
    return render(request, "jobs/notices/list.html", context)


@page
def message(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show one message as it was sent, and what it tells."""
    scope = scope_of(request.user)
    found = get_object_or_404(messages_visible_to(scope), uuid=uuid)
    context = {
        "message": found,
        "notices": notices_of(found),
        "stop": stop_of(found.address or found.owner.email),
        "is_office": scope.may_run_office,
        "needs_a_look": found.state in NEEDS_A_LOOK,
    }
    return render(request, "jobs/notices/show.html", context)


@form
def send_again(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Have a message sent once more."""
    scope = _office(request)
    found = get_object_or_404(messages_visible_to(scope), uuid=uuid)
    stopping.send_again(found, now=timezone.now())
    messages.success(request, "It is sent again in a moment.")
    return redirect("notice-message", uuid=uuid)


@form
def arrived(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Note that a message of which nobody knew has arrived."""
    scope = _office(request)
    found = get_object_or_404(messages_visible_to(scope), uuid=uuid)
    stopping.mark_arrived(found, now=timezone.now())
    messages.success(request, "Noted: it has arrived.")
    return redirect("notice-message", uuid=uuid)


@form
def release(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Let an address be written to again."""
    scope = _office(request)
    found = get_object_or_404(messages_visible_to(scope), uuid=uuid)
    stop = stop_of(found.address or found.owner.email)
    if stop is None:
        raise NotFound("This address is not stopped.")
    stopping.release_address(stop, now=timezone.now())
    messages.success(request, "The address is written to again.")
    return redirect("notice-message", uuid=uuid)


@page
def preview(request: HttpRequest) -> HttpResponse:
    """Show what a step says about a roof on record."""
    _office(request)
    asked, made = _preview(request)
    context = {"form": asked, "draft": made, "is_asked": bool(request.GET)}
    return render(request, "jobs/notices/preview.html", context)


@page
def preview_html(request: HttpRequest) -> HttpResponse:
    """Show the HTML of a previewed message as a mail program gets it."""
    _office(request)
    _, made = _preview(request)
    if made is None:
        raise NotFound("Nothing to show: name a coach that somebody holds.")
    return HttpResponse(made.html)


@page
def wish(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show how an owner wants to be written to."""
    scope = _office(request)
    owner = get_object_or_404(owners_visible_to(scope), uuid=uuid)
    known = wish_of(owner)
    initial = {
        "language": known.language if known else Language.ENGLISH,
        "text_number": known.text_number if known else "",
        "text_consent_how": known.text_consent_how if known else "",
    }
    context = {"owner": owner, "wish": known, "form": WishForm(initial=initial)}
    return render(request, "jobs/notices/wish.html", context)


@form
def set_wish(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Record how an owner wants to be written to."""
    scope = _office(request)
    owner = get_object_or_404(owners_visible_to(scope), uuid=uuid)
    filled = WishForm(request.POST)
    if not filled.is_valid():
        field, errors = next(iter(filled.errors.items()))
        raise InvalidValue(field, " ".join(errors))
    stopping.set_wish(owner, now=timezone.now(), **filled.cleaned_data)
    messages.success(request, "Recorded.")
    return redirect("notice-wish", uuid=uuid)


@form
def turn_reminders(request: HttpRequest, uuid: UUID, turn: str) -> HttpResponse:
    """Switch an owner's reminders off, or on again."""
    scope = _office(request)
    owner = get_object_or_404(owners_visible_to(scope), uuid=uuid)
    stopping.turn_reminders(owner, off=turn == "off", now=timezone.now())
    messages.success(request, f"Reminders are {turn}.")
    return redirect("notice-wish", uuid=uuid)


def _preview(request: HttpRequest) -> tuple[PreviewForm, Draft | None]:
    if not request.GET:
        return PreviewForm(), None
    asked = PreviewForm(request.GET)
    if not asked.is_valid():
        return asked, None
    wanted = asked.cleaned_data
    roof = (
        roofs_visible_to(scope_of(request.user))
        .filter(coach__unit_no__iexact=wanted["coach"].strip())
        .order_by("-roof_no")
        .first()
    )
    if roof is None:
        asked.add_error("coach", "No roof under this number. Write it as on record.")
        return asked, None
    made = previewed(
        roof,
        step=Step(wanted["step"]),
        language=wanted["language"],
        news=wanted["news"] or "DECIDE",
        now=timezone.now(),
    )
    if made is None:
        asked.add_error("coach", "Nobody holds this coach, or it has no claim.")
    return asked, made


def _office(request: HttpRequest) -> Scope:
    scope = scope_of(request.user)
    if not scope.may_run_office:
        raise NotAllowed("Only the service office does this. Ask the office.")
    return scope
