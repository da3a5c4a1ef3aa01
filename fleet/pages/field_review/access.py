"""Who may open these pages."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from fleet.models import Role

View = Callable[..., HttpResponse]
OFFICE = (Role.OFFICE,)
OFFICE_AND_TECHNICIANS = (Role.OFFICE, Role.TECHNICIAN)


def only_for(roles: tuple[Role, ...]) -> Callable[[View], View]:
    """Ask for a sign-in of one of these roles; nothing goes into a shared cache."""

    def decorated(view: View) -> View:
        @wraps(view)
        def guarded(
            request: HttpRequest, *args: object, **kwargs: object
        ) -> HttpResponse:
            if request.user.role not in roles:
                raise PermissionDenied
            return view(request, *args, **kwargs)

        methods = require_http_methods(["GET", "HEAD", "POST"])
        return login_required(never_cache(methods(guarded)))

    return decorated
