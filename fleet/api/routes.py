"""The addresses of coaches, roofs and what is recorded about them."""

from __future__ import annotations

from django.urls import URLPattern, path
from rest_framework.routers import SimpleRouter

from fleet.api.film import FilmReadingViewSet
from fleet.api.readings import (
    AdhesionReadingViewSet,
    ClimateReadingViewSet,
    CoatLogViewSet,
    MoistureReadingViewSet,
)
from fleet.api.roofs import InstallationViewSet, LedgerViewSet, RoofViewSet
from fleet.api.visits import CureViewSet, FindingViewSet, VisitViewSet

COLLECTIONS = {
    "roofs": RoofViewSet,
    "installations": InstallationViewSet,
    "visits": VisitViewSet,
    "findings": FindingViewSet,
    "cures": CureViewSet,
    "coat-logs": CoatLogViewSet,
    "film-readings": FilmReadingViewSet,
    "moisture-readings": MoistureReadingViewSet,
    "adhesion-readings": AdhesionReadingViewSet,
    "climate-readings": ClimateReadingViewSet,
}


def addresses() -> list[URLPattern]:
    """Return the addresses of this room, below /api/v1/."""
    router = SimpleRouter(trailing_slash=False, use_regex_path=False)
    for noun, view in COLLECTIONS.items():
        router.register(noun, view, basename=noun)
    return [
        *router.urls,
        path("roofs/<uuid:uuid>/plan", RoofViewSet.as_view({"get": "plan"})),
        path("roofs/<uuid:uuid>/ledger", LedgerViewSet.as_view({"get": "list"})),
    ]
