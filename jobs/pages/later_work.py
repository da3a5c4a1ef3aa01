"""What waits, runs and was set aside, and the button that tries again."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.errors import NotAllowed
from fleet.scope import Scope
from fleet.selectors.scopes import scope_of
from jobs import runs
from jobs.kinds import KINDS
from jobs.models import Lane, RunState
from jobs.paging import page_number
from jobs.selectors import RunQuery, later_work_summary, run_list, runs_visible_to
from warranty.documents.wording import readable
from warranty.pages.access import form, page

OLDEST = "oldest"


class RunListForm(forms.Form):
    """Filters and order of the list of runs."""

    state = forms.ChoiceField(
        label="State", required=False, choices=[("", "any"), *RunState.choices]
    )
    lane = forms.ChoiceField(
        label="Lane", required=False, choices=[("", "any"), *Lane.choices]
    )
    kind = forms.ChoiceField(label="Kind", required=False)
    sort = forms.ChoiceField(
        label="Sorted by",
        required=False,
        choices=[("", "newest first"), (OLDEST, "longest due first")],
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        kinds = [(kind, readable(kind)) for kind in KINDS]
        self.fields["kind"].choices = [("", "any"), *kinds]

    def query(self, *, page: int) -> RunQuery:
        """Return what was asked; a field with an error asks nothing."""
        self.is_valid()
        asked = self.cleaned_data
        return RunQuery(
            state=asked.get("state", ""),
            lane=asked.get("lane", ""),
            kind=asked.get("kind", ""),
            oldest_first=asked.get("sort") == OLDEST,
            page=page,
        )


@page
def later_work(request: HttpRequest) -> HttpResponse:
    """Show how each lane is doing, and the runs."""
    scope = _office(request)
    now = timezone.now()
    asked = RunListForm(request.GET)
    found = run_list(scope, asked.query(page=page_number(request.GET.get("page", "1"))))
    context = {
        "form": asked,
        "found": found,
        "later": later_work_summary(now),
        "is_asked": bool(request.GET),
    }
    return render(request, "jobs/later_work/list.html", context)


@form
def retry(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Put a run that was set aside back into its lane."""
    scope = _office(request)
    found = get_object_or_404(runs_visible_to(scope), uuid=uuid)
    runs.retry(found, now=timezone.now())
    messages.success(request, "It waits for its turn again, with five new starts.")
    return redirect("run", uuid=uuid)


def _office(request: HttpRequest) -> Scope:
    scope = scope_of(request.user)
    if not scope.may_run_office:
        raise NotAllowed("Only the service office sees this. Ask the office.")
    return scope
