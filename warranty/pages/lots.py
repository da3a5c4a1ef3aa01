"""Lots of the coats that were laid, and the roofs that carry each."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from fleet.selectors.scopes import scope_of
from warranty.pages.access import page
from warranty.selectors.lots import (
    PAGE_LOTS,
    laid_of,
    lots_visible_to,
    roofs_of_lot,
    rows_of_lots,
)

LONGEST = 40


@page
def lot_list(request: HttpRequest) -> HttpResponse:
    """Show the lots, the last laid first, narrowed by a part of their name."""
    scope = scope_of(request.user)
    words = request.GET.get("words", "").replace("\0", "")[:LONGEST]
    lots = Paginator(lots_visible_to(scope, words=words), PAGE_LOTS)
    found = lots.get_page(request.GET.get("page"))
    context = {
        "words": words,
        "found": found,
        "rows": rows_of_lots(found.object_list, scope),
    }
    return render(request, "warranty/lots/list.html", context)


@page
def lot(request: HttpRequest, name: str) -> HttpResponse:
    """Show every roof that carries a lot: whom to call if the lot proves bad."""
    scope = scope_of(request.user)
    if "\0" in name:
        raise Http404
    roofs = Paginator(roofs_of_lot(name, scope), PAGE_LOTS)
    if not roofs.count:
        raise Http404
    found = roofs.get_page(request.GET.get("page"))
    context = {
        "lot": name,
        "found": found,
        "rows": laid_of(found.object_list, name, scope),
    }
    return render(request, "warranty/lots/show.html", context)
