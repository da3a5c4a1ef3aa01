"""The addresses of promises and claims."""

from __future__ import annotations

from django.urls import URLPattern, path
from rest_framework.routers import SimpleRouter

from warranty.api.claims import ClaimViewSet
from warranty.api.standings import InspectionsDueViewSet, RoofStandingViewSet

COLLECTIONS = {"claims": ClaimViewSet}


def addresses() -> list[URLPattern]:
    """Return the addresses of this room, below /api/v1/."""
    router = SimpleRouter(trailing_slash=False, use_regex_path=False)
    for noun, view in COLLECTIONS.items():
        router.register(noun, view, basename=noun)
    standing = RoofStandingViewSet.as_view
    return [
        *router.urls,
        path("claims/<uuid:uuid>/correct", ClaimViewSet.as_view({"post": "correct"})),
        path("roofs/<uuid:uuid>/standing", standing({"get": "standing"})),
        path("roofs/<uuid:uuid>/history", standing({"get": "history"})),
        path("inspections-due", InspectionsDueViewSet.as_view({"get": "list"})),
    ]
