"""What belongs to who signed in: sessions, keys, and what happened at the door."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.api_keys import LONGEST_DAYS, make_key, revoke_key, rotate_key
from fleet.actions.sessions import end_session
from fleet.models import KeyRight, Role, User
from fleet.pages.access import EVERYBODY, OFFICE_AND_MANAGERS, address_of, page_for
from fleet.pages.session_store import uuid_of
from fleet.selectors.access import (
    access_events_visible_to,
    keys_visible_to,
    live_secrets,
    live_sessions,
    sessions_visible_to,
)
from fleet.selectors.scopes import owners_visible_to, scope_of

A_PAGE = 50
# A program that is changed over in a week does not stand still meanwhile.
KEEP_OLD_HOURS = 7 * 24


class KeyForm(forms.Form):
    """What a new key is for and what it may do."""

    name = forms.CharField(label="Program", max_length=60)
    owner = forms.ModelChoiceField(label="Fleet", queryset=None, to_field_name="uuid")
    rights = forms.MultipleChoiceField(
        label="May",
        choices=KeyRight.choices,
        widget=forms.CheckboxSelectMultiple,
        initial=[KeyRight.READ],
    )
    days = forms.IntegerField(
        label="Good for, days", min_value=1, max_value=LONGEST_DAYS, initial=90
    )

    def __init__(self, *args: object, asked_by: User, **kwargs: object) -> None:
        """Offer the fleets that the asker looks after."""
        super().__init__(*args, **kwargs)
        fleets = owners_visible_to(scope_of(asked_by)).filter(kind="rental_fleet")
        self.fields["owner"].queryset = fleets.order_by("name", "pk")
        if asked_by.role == Role.FLEET_MANAGER:
            self.fields["owner"].initial = asked_by.owner and asked_by.owner.uuid


@page_for(EVERYBODY)
def account(request: HttpRequest) -> HttpResponse:
    """Show what can be looked after here."""
    return render(request, "fleet/account/account.html")


@page_for(EVERYBODY)
def sessions(request: HttpRequest) -> HttpResponse:
    """Show the browsers that are signed in."""
    found = sessions_visible_to(scope_of(request.user))
    rows = live_sessions(found, now=timezone.now()).order_by("-began_at", "session_key")
    context = {
        "page": Paginator(rows, A_PAGE).get_page(request.GET.get("page")),
        "this": uuid_of(request.session.session_key),
    }
    return render(request, "fleet/account/sessions.html", context)


@page_for(EVERYBODY)
def session_end(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """End one session."""
    found = sessions_visible_to(scope_of(request.user))
    session = get_object_or_404(found, uuid=uuid)
    if request.method != "POST":
        return redirect("sessions")
    end_session(
        session=session,
        by=request.user,
        address=address_of(request),
        now=timezone.now(),
    )
    if session.uuid == uuid_of(request.session.session_key):
        request.session.flush()
        return redirect("sign-in")
    messages.success(request, "That browser is signed out.")
    return redirect("sessions")


@page_for(OFFICE_AND_MANAGERS)
def keys(request: HttpRequest) -> HttpResponse:
    """Show the keys; make one, whose secret is shown once."""
    form = KeyForm(request.POST or None, asked_by=request.user)
    word = ""
    if request.method == "POST" and form.is_valid():
        _, word = make_key(**form.cleaned_data, by=request.user, now=timezone.now())
        form = KeyForm(asked_by=request.user)
    return _keys_shown(request, form, word)


@page_for(OFFICE_AND_MANAGERS)
def key_rotate(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Give a key a further secret; the older one ends within a week."""
    found = keys_visible_to(scope_of(request.user))
    key = get_object_or_404(found, uuid=uuid)
    if request.method != "POST":
        return redirect("keys")
    word = rotate_key(
        key=key,
        days=90,
        keep_old_hours=KEEP_OLD_HOURS,
        by=request.user,
        now=timezone.now(),
    )
    return _keys_shown(request, KeyForm(asked_by=request.user), word)


@page_for(OFFICE_AND_MANAGERS)
def key_revoke(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Refuse a key from now on."""
    found = keys_visible_to(scope_of(request.user))
    key = get_object_or_404(found, uuid=uuid)
    if request.method == "POST":
        revoke_key(key=key, by=request.user, now=timezone.now())
        messages.success(request, f"The key {key} opens nothing any more.")
    return redirect("keys")


@page_for(EVERYBODY)
def access_log(request: HttpRequest) -> HttpResponse:
    """Show what happened at the door, the newest first."""
    events = access_events_visible_to(scope_of(request.user))
    before = request.GET.get("before", "")
    if before.isdecimal() and len(before) < 19:
        events = events.filter(pk__lt=int(before))
    rows = list(events.order_by("-pk")[: A_PAGE + 1])
    context = {
        "events": rows[:A_PAGE],
        "older": rows[A_PAGE - 1].pk if len(rows) > A_PAGE else None,
    }
    return render(request, "fleet/account/access_log.html", context)


def _keys_shown(request: HttpRequest, form: KeyForm, word: str) -> HttpResponse:
    now = timezone.now()
    rows = keys_visible_to(scope_of(request.user)).order_by("-pk")
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "form": form,
        "word": word,
        "page": page,
        "keys": [(key, live_secrets(key, now=now)) for key in page],
    }
    return render(request, "fleet/account/keys.html", context)
