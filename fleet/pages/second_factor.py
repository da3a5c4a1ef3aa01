"""Set up a second factor, get recovery codes, remove it again."""

from __future__ import annotations

import pyotp
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters

from fleet.actions.second_factor import (
    begin_factor,
    check_code,
    confirm_factor,
    new_recovery_codes,
    remove_factor,
    unsealed,
)
from fleet.errors import DomainError
from fleet.models import Role, SecondFactor
from fleet.pages.access import EVERYBODY, address_of, page_for
from fleet.pages.code_drawing import code_drawing
from fleet.pages.session_store import FACTOR
from fleet.selectors.access import factor_of, unused_recovery_codes

STEPS = ("begin", "confirm", "recovery", "remove")


@sensitive_post_parameters("code")
@page_for(EVERYBODY)
def second_factor(request: HttpRequest) -> HttpResponse:
    """Show how the second factor stands; take one step of setting it up."""
    step = request.POST.get("step", "")
    if request.method != "POST" or step not in STEPS:
        return _shown(request)
    now, address = timezone.now(), address_of(request)
    code = request.POST.get("code", "")
    told = {"user": request.user, "address": address, "now": now}
    try:
        if step == "begin":
            begin_factor(user=request.user, now=now)
            return redirect("second-factor")
        if step == "confirm":
            codes = confirm_factor(code=code, **told)
            request.session[FACTOR] = True
            return _shown(request, codes=codes)
        check_code(code=code, **told)
        if step == "recovery":
            return _shown(request, codes=new_recovery_codes(**told))
        _refuse_where_asked_for(request)
        remove_factor(by=request.user, **told)
    except DomainError as refusal:
        answer = _shown(request, fault=refusal.message)
        answer.status_code = 429 if refusal.http_status == 429 else 200
        if "retry_after" in refusal.detail:
            answer["Retry-After"] = str(refusal.detail["retry_after"])
        return answer
    messages.success(request, "Your second factor is removed.")
    return redirect("second-factor")


class FactorAskedFor(DomainError):
    """The office's settings ask for a second factor."""

    code = "second-factor-needed"
    http_status = 409


def _refuse_where_asked_for(request: HttpRequest) -> None:
    if settings.REQUIRE_SECOND_FACTOR and request.user.role == Role.OFFICE:
        raise FactorAskedFor("The office signs in with a second factor: it stays.")


def _shown(
    request: HttpRequest, *, fault: str = "", codes: list[str] | None = None
) -> HttpResponse:
    factor = factor_of(request.user)
    context = {
        "factor": factor,
        "fault": fault,
        "codes": codes,
        "codes_left": unused_recovery_codes(request.user),
        "is_asked_for": settings.REQUIRE_SECOND_FACTOR
        and request.user.role == Role.OFFICE,
        **(_setup(request, factor) if factor and not factor.confirmed_at else {}),
    }
    return render(request, "fleet/account/second_factor.html", context)


def _setup(request: HttpRequest, factor: SecondFactor) -> dict[str, object]:
    """Return what a phone takes in: the secret to type and to photograph."""
    secret = unsealed(factor.sealed_secret)
    address = pyotp.TOTP(secret).provisioning_uri(
        name=request.user.username, issuer_name="Roof Register"
    )
    groups = [secret[start : start + 4] for start in range(0, len(secret), 4)]
    return {"secret": " ".join(groups), "drawing": code_drawing(address)}
