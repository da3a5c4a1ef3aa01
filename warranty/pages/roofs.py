"""The roof list and the page of one roof."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.civil import office_day
from fleet.selectors.scopes import roofs_visible_to, scope_of
from warranty.pages.access import page
from warranty.pages.forms import MomentForm, RoofListForm
from warranty.pages.showing import shown_roof
from warranty.selectors.certificates import certificates_of
from warranty.selectors.roof_list import roof_page_of_list
from warranty.selectors.roof_page import roof_page


def start(request: HttpRequest) -> HttpResponse:
    """Lead to the roof list."""
    return redirect("roof-list")


@page
def roof_list(request: HttpRequest) -> HttpResponse:
    """Show the roofs that this person may see; htmx asks for the results alone."""
    now = timezone.now()
    form = RoofListForm(request.GET, today=office_day(now))
    query = form.query(page=_page_number(request))
    found = roof_page_of_list(scope_of(request.user), query, now=now)
    template = "warranty/roofs/list.html"
    if request.htmx:
        template = "warranty/roofs/_results.html"
    context = {"form": form, "found": found, "is_asked": bool(request.GET)}
    return render(request, template, context)


@page
def roof(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show one roof as of a day and as known at a moment."""
    scope = scope_of(request.user)
    found = get_object_or_404(roofs_visible_to(scope), uuid=uuid)
    now = timezone.now()
    form = MomentForm(request.GET, label_suffix="")
    as_of, known_at = form.asked(today=office_day(now), now=now)
    shown = roof_page(found, scope, as_of=as_of, known_at=known_at)
    context = {"form": form, "roof": found, "as_of": as_of, "known_at": known_at}
    if shown is None:
        return render(request, "warranty/roofs/not_known.html", context)
    context |= shown_roof(shown, coat=request.GET.get("coat", ""))
    context["certificates"] = certificates_of(found, scope)
    context["may_issue"] = scope.may_run_office
    context["is_today"] = as_of == office_day(now)
    return render(request, "warranty/roofs/show.html", context)


def _page_number(request: HttpRequest) -> int:
    asked = request.GET.get("page", "1")
    return int(asked) if asked.isdecimal() and len(asked) < 6 else 1
