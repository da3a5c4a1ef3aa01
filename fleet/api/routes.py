"""The addresses of coaches, roofs and what is recorded about them."""

from __future__ import annotations

from django.urls import URLPattern, path
from rest_framework.routers import SimpleRouter

from fleet.api import coaches, owners, readings, roofs, systems, visits
from fleet.api.exhibit_routes import exhibit_addresses
from fleet.api.film import FilmReadingViewSet
from fleet.api.penetrations import AlterationViewSet, PenetrationViewSet
from fleet.api.queue_files import QueueFileViewSet

COLLECTIONS = {
    "owners": owners.OwnerViewSet,
    "merges": owners.MergeViewSet,
    "coaches": coaches.CoachViewSet,
    "coach-descriptions": coaches.CoachDescriptionViewSet,
    "ownerships": coaches.OwnershipViewSet,
    "retirements": coaches.RetirementViewSet,
    "systems": systems.SystemViewSet,
    "technicians": systems.TechnicianViewSet,
    "roofs": roofs.RoofViewSet,
    "installations": roofs.InstallationViewSet,
    "penetrations": PenetrationViewSet,
    "alterations": AlterationViewSet,
    "visits": visits.VisitViewSet,
    "findings": visits.FindingViewSet,
    "cures": visits.CureViewSet,
    "coat-logs": readings.CoatLogViewSet,
    "film-readings": FilmReadingViewSet,
    "moisture-readings": readings.MoistureReadingViewSet,
    "adhesion-readings": readings.AdhesionReadingViewSet,
    "climate-readings": readings.ClimateReadingViewSet,
}


def addresses() -> list[URLPattern]:
    """Return the addresses of this room, below /api/v1/."""
    router = SimpleRouter(trailing_slash=False, use_regex_path=False)
    for noun, view in COLLECTIONS.items():
        router.register(noun, view, basename=noun)
    coach, roof = coaches.CoachViewSet.as_view, roofs.RoofViewSet.as_view
    return [
        *router.urls,
        *exhibit_addresses(),
        path("field-queue-files", QueueFileViewSet.as_view({"post": "create"})),
        path("me", systems.MeViewSet.as_view({"get": "retrieve"})),
        path("coaches/<uuid:uuid>/describe", coach({"post": "describe"})),
        path("coaches/<uuid:uuid>/hand-over", coach({"post": "hand_over"})),
        path("coaches/<uuid:uuid>/retire", coach({"post": "retire"})),
        path("roofs/<uuid:uuid>/plan", roof({"get": "plan"})),
        path("roofs/<uuid:uuid>/ledger", roofs.LedgerViewSet.as_view({"get": "list"})),
    ]
