"""People who sign in: list, invite, close and open; accept an invitation."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from fleet.actions.errors import InvalidValue
from fleet.actions.invitations import (
    accept,
    close_user,
    invitation_of,
    invite,
    open_user,
    withdraw,
)
from fleet.actions.second_factor import remove_factor
from fleet.errors import NotAllowed
from fleet.models import Role, User
from fleet.pages.access import (
    OFFICE_AND_MANAGERS,
    address_of,
    page_for,
    refusals_shown,
)
from fleet.selectors.access import (
    invitations_visible_to,
    open_invitations,
    users_visible_to,
)
from fleet.selectors.scopes import owners_visible_to, scope_of

A_PAGE = 50
CHANGES = ("close", "open", "remove-factor")


class InvitationForm(forms.Form):
    """Whom to invite, and as what."""

    name = forms.CharField(label="Name", max_length=150)
    email = forms.EmailField(label="E-mail", max_length=254)
    role = forms.ChoiceField(label="Works as", choices=Role.choices)
    owner = forms.ModelChoiceField(
        label="Fleet (fleet managers only)",
        queryset=None,
        required=False,
        to_field_name="uuid",
    )

    def __init__(self, *args: object, asked_by: User, **kwargs: object) -> None:
        """Offer what the asker may give."""
        super().__init__(*args, **kwargs)
        if asked_by.role == Role.FLEET_MANAGER:
            del self.fields["role"], self.fields["owner"]
            return
        fleets = owners_visible_to(scope_of(asked_by)).filter(kind="rental_fleet")
        self.fields["owner"].queryset = fleets.order_by("name", "pk")


@page_for(OFFICE_AND_MANAGERS)
def people(request: HttpRequest) -> HttpResponse:
    """Show who signs in and who is invited; invite one more."""
    form = InvitationForm(request.POST or None, asked_by=request.user)
    link = ""
    if request.method == "POST" and form.is_valid():
        given = {"role": Role.FLEET_MANAGER.value, "owner": None, **form.cleaned_data}
        try:
            _, word = invite(**given, by=request.user, now=timezone.now())
        except InvalidValue as refusal:
            form.add_error(str(refusal.detail["field"]), refusal.message)
        else:
            link = settings.SITE_URL + reverse("invitation", args=[word])
            form = InvitationForm(asked_by=request.user)
    scope, now = scope_of(request.user), timezone.now()
    users = users_visible_to(scope).order_by("username", "pk")
    invited = open_invitations(invitations_visible_to(scope), now=now)
    context = {
        "form": form,
        "link": link,
        "page": Paginator(users, A_PAGE).get_page(request.GET.get("page")),
        "invited": invited.order_by("-pk")[:A_PAGE],
    }
    return render(request, "fleet/account/people.html", context)


@page_for(OFFICE_AND_MANAGERS)
def change(request: HttpRequest, uuid: UUID, what: str) -> HttpResponse:
    """Close or open one person's account, or take a lost second factor away."""
    found = users_visible_to(scope_of(request.user))
    user = get_object_or_404(found, uuid=uuid)
    if request.method != "POST":
        return redirect("people")
    now = timezone.now()
    if what == "close":
        close_user(user=user, by=request.user, now=now)
        messages.success(request, f"{user} cannot sign in any more.")
    elif what == "open":
        open_user(user=user, by=request.user, now=now)
        messages.success(request, f"{user} can sign in again.")
    else:
        if request.user.role != Role.OFFICE:
            raise NotAllowed("Only the office takes a second factor away.")
        remove_factor(user=user, by=request.user, address=address_of(request), now=now)
        messages.success(request, f"{user} signs in by password alone now.")
    return redirect("people")


@page_for(OFFICE_AND_MANAGERS)
def withdraw_invitation(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Take an invitation back."""
    found = invitations_visible_to(scope_of(request.user))
    invitation = get_object_or_404(found, uuid=uuid)
    if request.method == "POST":
        withdraw(invitation=invitation, by=request.user, now=timezone.now())
        messages.success(request, f"The invitation of {invitation.name} is taken back.")
    return redirect("people")


@sensitive_post_parameters("password", "again")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@refusals_shown
def invitation(request: HttpRequest, word: str) -> HttpResponse:
    """Let the invited person choose name and password."""
    now = timezone.now()
    found = invitation_of(word=word, now=now)
    context: dict[str, object] = {"invitation": found, "faults": {}}
    if request.method == "POST":
        name = request.POST.get("username", "")
        password = request.POST.get("password", "")
        context["name"] = name
        try:
            if password != request.POST.get("again", ""):
                raise InvalidValue(
                    "again", "The two passwords differ. Type both again."
                )
            accept(
                word=word,
                username=name,
                password=password,
                address=address_of(request),
                now=now,
            )
        except InvalidValue as refusal:
            context["faults"] = {str(refusal.detail["field"]): refusal.message}
        else:
            messages.success(request, "Your account is ready. Sign in.")
            return redirect("sign-in")
    answer = render(request, "fleet/account/invitation.html", context)
    # The address is the key: it goes nowhere with a link.
    answer["Referrer-Policy"] = "no-referrer"
    return answer
