"""The addresses of promises and claims."""

from __future__ import annotations

from django.urls import URLPattern, path
from rest_framework.routers import SimpleRouter

from warranty.api import promises
from warranty.api.claim_decisions import ClaimWorkViewSet
from warranty.api.claims import ClaimViewSet
from warranty.api.editions import EditionViewSet
from warranty.api.standings import InspectionsDueViewSet, RoofStandingViewSet
from warranty.api.transfers import TransferViewSet

# What is done with a claim, by the last part of its address.
CLAIM_WORK = {
    "decide": {"post": "decide"},
    "second": {"post": "second"},
    "remedies": {"post": "remedy"},
    "close": {"post": "close"},
    "withdraw": {"post": "withdraw"},
    "reopen": {"post": "reopen"},
    "wait": {"post": "wait"},
    "resume": {"post": "resume"},
    "evidence": {"get": "evidence"},
    "decision": {"get": "decision"},
    "doubts": {"get": "doubts", "post": "answer_doubt"},
}
COLLECTIONS = {
    "editions": EditionViewSet,
    "coverages": promises.CoverageViewSet,
    "registrations": promises.RegistrationViewSet,
    "waivers": promises.WaiverViewSet,
    "transfers": TransferViewSet,
    "claims": ClaimViewSet,
}


def addresses() -> list[URLPattern]:
    """Return the addresses of this room, below /api/v1/."""
    router = SimpleRouter(trailing_slash=False, use_regex_path=False)
    for noun, view in COLLECTIONS.items():
        router.register(noun, view, basename=noun)
    edition = EditionViewSet.as_view
    standing, waiver = RoofStandingViewSet.as_view, promises.WaiverViewSet.as_view
    return [
        *router.urls,
        path("claims/<uuid:uuid>/correct", ClaimViewSet.as_view({"post": "correct"})),
        *(
            path(f"claims/<uuid:uuid>/{last}", ClaimWorkViewSet.as_view(methods))
            for last, methods in CLAIM_WORK.items()
        ),
        path("editions/<uuid:uuid>/revise", edition({"post": "revise"})),
        path("editions/<uuid:uuid>/publish", edition({"post": "publish"})),
        path("editions/<uuid:uuid>/checks", edition({"get": "checks"})),
        path("waivers/<uuid:uuid>/second", waiver({"post": "second"})),
        path("roofs/<uuid:uuid>/standing", standing({"get": "standing"})),
        path("roofs/<uuid:uuid>/history", standing({"get": "history"})),
        path("inspections-due", InspectionsDueViewSet.as_view({"get": "list"})),
    ]
