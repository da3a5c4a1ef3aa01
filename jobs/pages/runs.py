"""Watch one run."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from fleet.selectors.scopes import scope_of
from jobs.models import FINISHED
from jobs.selectors import later_work_summary, runs_visible_to
from warranty.pages.access import page
from warranty.selectors.claims import claims_visible_to


@page
def run(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show how far a run is; htmx asks for the progress alone."""
    scope = scope_of(request.user)
    found = get_object_or_404(runs_visible_to(scope), uuid=uuid)
    claims = claims_visible_to(scope).filter(pk=found.payload.get("claim"))
    is_finished = found.state in FINISHED
    context = {
        "run": found,
        "claim": claims.first(),
        "is_finished": is_finished,
        "is_office": scope.may_run_office,
        "is_waiting_alone": not is_finished
        and not later_work_summary(timezone.now()).is_runner_alive,
    }
    name = "_progress" if request.htmx else "show"
    return render(request, f"jobs/runs/{name}.html", context)
