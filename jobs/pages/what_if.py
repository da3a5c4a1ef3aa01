"""Ask what an edition would change, and read the answer."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.errors import InvalidValue
from fleet.civil import office_day
from fleet.errors import NotAllowed
from fleet.models import Owner
from fleet.scope import Scope
from fleet.selectors.scopes import owners_visible_to, scope_of
from jobs.selectors import runs_visible_to
from jobs.what_if import KIND, report_of, request_what_if
from warranty.pages.access import form, page
from warranty.pages.drawing.moves import moves_svg
from warranty.selectors.editions import editions_visible_to
from warranty.selectors.packet.facts import CLAUSE_TITLES


@form
def request(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Ask for a replay over every roof, or over one owner's, and lead to its run."""
    scope = scope_of(request.user)
    _require_office(scope)
    edition = get_object_or_404(editions_visible_to(scope), uuid=uuid)
    now = timezone.now()
    run = request_what_if(
        edition=edition,
        owner=_owner(scope, request.POST.get("owner", "").strip()),
        as_of=office_day(now),
        by=request.user,
        now=now,
    )
    return redirect("run", uuid=run.uuid)


@page
def report(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show what a finished replay found."""
    scope = scope_of(request.user)
    _require_office(scope)
    runs = runs_visible_to(scope).filter(kind=KIND)
    run = get_object_or_404(runs, uuid=uuid)
    found = report_of(run)
    if found is None:
        return redirect("run", uuid=run.uuid)
    moves = {(m["from"], m["to"]): m["roofs"] for m in found["standings"]}  # type: ignore[attr-defined, index]  # a list of moves
    owner = owners_visible_to(scope).filter(uuid=found["owner"]).first()
    context = {
        "report": found,
        "run": run,
        "owner": owner,
        "edition": editions_visible_to(scope).filter(uuid=found["edition"]).first(),
        "titles": CLAUSE_TITLES,
        "picture": moves_svg(moves),
    }
    return render(request, "jobs/what_if/show.html", context)


def _owner(scope: Scope, name: str) -> Owner | None:
    if not name:
        return None
    found = list(owners_visible_to(scope).filter(name__iexact=name)[:2])
    if len(found) != 1:
        count = "More than one owner has" if found else "No owner has"
        raise InvalidValue("owner", f"{count} this name. Write it as it is on record.")
    return found[0]


def _require_office(scope: Scope) -> None:
    if not scope.may_run_office:
        raise NotAllowed("Only the service office replays editions. Ask the office.")
