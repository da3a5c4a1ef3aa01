"""Who may open a page, how it is kept out of caches, and how a refusal is shown."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from fleet.errors import DomainError

View = Callable[..., HttpResponse]


def page(view: View) -> View:
    """Ask for a sign-in, answer reads only, and leave nothing in a shared cache."""
    return login_required(never_cache(require_safe(refusals_shown(view))))


def form(view: View) -> View:
    """Ask for a sign-in and take sent forms only."""
    return login_required(never_cache(require_POST(refusals_shown(view))))


def written_page(view: View) -> View:
    """Ask for a sign-in; show a form, and take it when it is sent."""
    takes = require_http_methods(["GET", "HEAD", "POST"])
    return login_required(never_cache(takes(refusals_shown(view))))


def refusals_shown(view: View) -> View:
    """Show the sentence of a refusal, the same that the API tells."""

    @wraps(view)
    def shown(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except DomainError as error:
            context = {"message": error.message}
            return render(request, "refused.html", context, status=error.http_status)

    return shown
