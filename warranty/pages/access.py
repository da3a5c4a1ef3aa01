"""Who may open a page, and how it is kept out of caches."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

View = Callable[..., HttpResponse]


def page(view: View) -> View:
    """Ask for a sign-in, answer reads only, and leave nothing in a shared cache."""
    return login_required(never_cache(require_safe(view)))
