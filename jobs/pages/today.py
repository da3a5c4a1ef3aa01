"""The first page of the day: what must happen, by when, and where it is done."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from fleet.civil import office_day
from fleet.selectors.field_review import open_operations
from fleet.selectors.scopes import scope_of
from jobs.models import RunState
from jobs.selectors import runs_visible_to
from warranty.pages.access import page
from warranty.selectors.today import MOST_SHOWN, today_of

MOST_RUNS = 5


@page
def today(request: HttpRequest) -> HttpResponse:
    """Show what asks for a hand today; what belongs to the office only the office."""
    scope = scope_of(request.user)
    now = timezone.now()
    found = today_of(scope, today=office_day(now), now=now)
    context: dict[str, object] = {
        "today": found,
        "count": found.count,
        "most": MOST_SHOWN,
    }
    if scope.may_run_office:
        conflicts = open_operations().count()
        aside = runs_visible_to(scope).filter(state=RunState.DEAD)
        aside_count = aside.count()
        context |= {
            "conflicts_count": conflicts,
            "aside": aside.order_by("-pk")[:MOST_RUNS],
            "aside_count": aside_count,
            "count": found.count + conflicts + aside_count,
        }
    return render(request, "jobs/today.html", context)
