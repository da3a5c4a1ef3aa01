"""Sales: one coach or a fleet's, shown before it is done; and coaches retired."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.coaches import retire_coach
from fleet.civil import office_day
from fleet.errors import DomainError
from fleet.models import Coach, Owner
from fleet.scope import Scope
from fleet.selectors.scopes import coaches_visible_to, owners_visible_to
from warranty.actions.transfers import (
    MOST_COACHES,
    NewHolder,
    sell_to_new_holder,
    transfer_coverages,
)
from warranty.pages.access import office_of, written_page
from warranty.pages.promise_forms import RetireForm, SaleForm
from warranty.selectors.sales import coaches_for_sale, owners_named, sale_previews


@written_page
def sale(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Sell one coach: show what it does to its promise, then do it."""
    scope = office_of(request)
    coaches = coaches_visible_to(scope).select_related("holder").filter(uuid=uuid)
    coach = get_object_or_404(coaches)
    return _sale(request, scope, offered=[coach], chosen=[coach], of=coach.holder)


@written_page
def fleet_sale(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Sell some or all coaches of one owner at once."""
    scope = office_of(request)
    seller = get_object_or_404(owners_visible_to(scope), uuid=uuid)
    # One more than a sale takes: then the page says that it shows the first ones.
    offered = list(coaches_for_sale(seller, scope)[: MOST_COACHES + 1])
    named = set(request.POST.getlist("coach"))
    chosen = [coach for coach in offered if str(coach.uuid) in named]
    return _sale(request, scope, offered=offered, chosen=chosen, of=seller)


def _sale(
    request: HttpRequest,
    scope: Scope,
    *,
    offered: list[Coach],
    chosen: list[Coach],
    of: Owner | None,
) -> HttpResponse:
    now = timezone.now()
    sent = request.POST if request.method == "POST" else None
    asked = SaleForm(sent, initial={"told_on": office_day(now)})
    context: dict[str, object] = {
        "form": asked,
        "offered": offered[:MOST_COACHES],
        "has_more": len(offered) > MOST_COACHES,
        "chosen": chosen,
        "seller": of,
        "sale": request.POST.get("sale", "") or str(uuid4()),
    }
    status = 200
    if request.method == "POST":
        status = 400
        if not chosen:
            asked.add_error(None, "Choose at least one coach.")
        elif asked.is_valid():
            told = asked.cleaned_data
            known = list(owners_named(told["holder_name"], scope)[:10])
            context["known"] = known
            context["previews"] = sale_previews(
                chosen,
                sold_on=told["sold_on"],
                told_on=told["told_on"],
                kind=told["holder_kind"],
            )
            status = 200
            if "confirm" in request.POST:
                try:
                    return _sold(request, chosen, told, known)
                except DomainError as error:
                    asked.tell(error)
                    status = error.http_status
    return render(request, "warranty/promise/sale.html", context, status=status)


def _sold(
    request: HttpRequest, chosen: list[Coach], told: dict, known: list[Owner]
) -> HttpResponse:
    """Record the sale and lead to the first coach, or to the list of roofs."""
    named = request.POST.get("holder", "")
    holder = next((each for each in known if str(each.uuid) == named), None)
    sale = {
        "coaches": chosen,
        "sold_on": told["sold_on"],
        "told_on": told["told_on"],
        "uuid": _uuid(request.POST.get("sale", "")),
        "by": request.user,
        "now": timezone.now(),
    }
    if holder is not None:
        done = transfer_coverages(to=holder, **sale)  # type: ignore[arg-type]  # as typed above
    else:
        new = NewHolder(
            name=told["holder_name"],
            kind=told["holder_kind"],
            email=told["holder_email"],
            phone=told["holder_phone"],
        )
        done = sell_to_new_holder(to=new, **sale)  # type: ignore[arg-type]  # as typed above
    coaches = f"{len(chosen)} coach{'es' if len(chosen) > 1 else ''}"
    messages.success(
        request, f"{coaches} sold; {len(done)} promise(s) passed to the new holder."
    )
    return redirect("roof", uuid=done[0].roof.uuid) if done else redirect("roof-list")


def _uuid(text: str) -> UUID:
    """Return the sale's id as the form carried it; a broken one is another sale."""
    try:
        return UUID(text)
    except ValueError:
        return uuid4()


@written_page
def retire(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Record that a coach left the road."""
    scope = office_of(request)
    coach = get_object_or_404(coaches_visible_to(scope), uuid=uuid)
    asked = RetireForm(request.POST or None)
    status = 200
    if request.method == "POST":
        status = 400
        if asked.is_valid():
            try:
                retire_coach(
                    coach=coach,
                    retired_on=asked.cleaned_data["retired_on"],
                    by=request.user,  # type: ignore[arg-type]  # signed in
                    now=timezone.now(),
                )
            except DomainError as error:
                asked.tell(error)
                status = error.http_status
            else:
                messages.success(request, f"Coach {coach.unit_no} is retired.")
                return redirect("roof-list")
    context = {
        "form": asked,
        "title": f"Retire coach {coach.unit_no}",
        "intro": "For a coach that was scrapped, burnt or written off. A sale is no "
        "retirement: the promise passes on with it.",
        "submit": "Retire the coach",
    }
    return render(request, "warranty/promise/form.html", context, status=status)
