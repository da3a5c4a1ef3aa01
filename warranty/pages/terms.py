"""Editions of the promise: read, drafted, checked, previewed, published."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.errors import DomainError, NotAllowed
from fleet.scope import Scope
from fleet.selectors.scopes import scope_of
from warranty.actions.editions import change_draft, draft_edition, publish_edition
from warranty.actions.errors import LawNotMet
from warranty.documents.certificate import certificate_pdf
from warranty.models import Edition
from warranty.pages.access import form, page, written_page
from warranty.pages.edition_form import FRESH, GROUPS, EditionForm, written
from warranty.selectors.certificates import sample_certificate_facts
from warranty.selectors.editions import edition_checks, editions_visible_to


@page
def edition_list(request: HttpRequest) -> HttpResponse:
    """Show the editions: for the office with its drafts."""
    scope = scope_of(request.user)
    editions = editions_visible_to(scope).order_by("-published_at", "code")
    context = {
        "drafts": [each for each in editions if each.published_at is None],
        "published": [each for each in editions if each.published_at is not None],
        "may_draft": scope.may_run_office,
    }
    return render(request, "warranty/terms/list.html", context)


@page
def edition(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show one edition, and for the office what the law's checks say."""
    scope = scope_of(request.user)
    found = get_object_or_404(editions_visible_to(scope), uuid=uuid)
    return render(request, "warranty/terms/show.html", _shown(found, scope))


@written_page
def draft(request: HttpRequest) -> HttpResponse:
    """Draft a new edition."""
    _require_office(request)
    asked = EditionForm(request.POST or None, initial=FRESH)
    if request.method == "POST" and asked.is_valid():
        try:
            made = draft_edition(edition=Edition(**asked.cleaned_data))
        except DomainError as error:
            _tell(asked, error)
        else:
            return redirect("edition", uuid=made.uuid)
    return render(request, "warranty/terms/edit.html", {"form": asked})


@written_page
def change(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Change a draft, from the version that the form was filled in from."""
    scope = _require_office(request)
    found = get_object_or_404(editions_visible_to(scope), uuid=uuid)
    asked = EditionForm(request.POST or None, initial=written(found))
    if request.method == "POST" and asked.is_valid():
        try:
            change_draft(
                edition=found, version=_version(request), changes=asked.cleaned_data
            )
        except DomainError as error:
            _tell(asked, error)
        else:
            return redirect("edition", uuid=found.uuid)
    version = _version(request) if request.method == "POST" else found.version
    context = {"form": asked, "edition": found, "version": version}
    return render(request, "warranty/terms/edit.html", context)


@form
def publish(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Publish a draft, or show again what keeps it from being published."""
    scope = _require_office(request)
    found = get_object_or_404(editions_visible_to(scope), uuid=uuid)
    try:
        publish_edition(edition=found, version=_version(request), now=timezone.now())
    except LawNotMet as error:
        context = {**_shown(found, scope), "refused": error.message}
        return render(
            request, "warranty/terms/show.html", context, status=error.http_status
        )
    return redirect("edition", uuid=found.uuid)


@page
def preview(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show what a certificate under this edition would look like."""
    scope = scope_of(request.user)
    found = get_object_or_404(editions_visible_to(scope), uuid=uuid)
    facts = sample_certificate_facts(found, now=timezone.now())
    return HttpResponse(
        certificate_pdf(facts),
        content_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="certificate-preview.pdf"'},
    )


def _shown(found: Edition, scope: Scope) -> dict[str, object]:
    blank = EditionForm(initial=written(found))
    context: dict[str, object] = {
        "edition": found,
        "is_draft": found.published_at is None,
        "may_run_office": scope.may_run_office,
        "texts": [
            (blank.fields[name].label, getattr(found, name)) for name in GROUPS[-1][1]
        ],
    }
    if scope.may_run_office:
        results = edition_checks(found)
        context["results"] = results
        context["errors"] = [r for r in results if r.is_error]
        context["questions"] = [r for r in results if r.fault and not r.is_error]
    return context


def _require_office(request: HttpRequest) -> Scope:
    scope = scope_of(request.user)
    if not scope.may_run_office:
        raise NotAllowed("Only the service office writes editions. Ask the office.")
    return scope


def _version(request: HttpRequest) -> int:
    sent = request.POST.get("version", "")
    return int(sent) if sent.isdecimal() and len(sent) < 9 else 0


def _tell(asked: EditionForm, error: DomainError) -> None:
    field = str(error.detail.get("field", ""))
    asked.add_error(field if field in asked.fields else None, error.message)
