"""The addresses of later work: runs, imports and packets."""

from __future__ import annotations

from django.urls import URLPattern, path
from rest_framework.routers import SimpleRouter

from jobs.api.certificates import CertificateViewSet, RoofCertificateViewSet
from jobs.api.imports import ImportViewSet
from jobs.api.packets import ClaimPacketViewSet, PacketViewSet
from jobs.api.runs import RunViewSet
from jobs.api.what_ifs import WhatIfViewSet

COLLECTIONS = {
    "runs": RunViewSet,
    "imports": ImportViewSet,
    "packets": PacketViewSet,
    "certificates": CertificateViewSet,
}


def addresses() -> list[URLPattern]:
    """Return the addresses of this room, below /api/v1/."""
    router = SimpleRouter(trailing_slash=False, use_regex_path=False)
    for noun, view in COLLECTIONS.items():
        router.register(noun, view, basename=noun)
    packets, imports = ClaimPacketViewSet.as_view, ImportViewSet.as_view
    certificates = RoofCertificateViewSet.as_view
    return [
        *router.urls,
        path("runs/<uuid:uuid>/retry", RunViewSet.as_view({"post": "retry"})),
        path("imports/<uuid:uuid>/commit", imports({"post": "commit"})),
        path("imports/<uuid:uuid>/report", imports({"get": "report"})),
        path("claims/<uuid:uuid>/packet", packets({"post": "create"})),
        path("claims/<uuid:uuid>/packets", packets({"get": "list"})),
        path("roofs/<uuid:uuid>/certificate", certificates({"post": "create"})),
        path("roofs/<uuid:uuid>/certificates", certificates({"get": "list"})),
        path(
            "certificates/<uuid:uuid>/content",
            CertificateViewSet.as_view({"get": "content"}),
        ),
        path("editions/<uuid:uuid>/what-if", WhatIfViewSet.as_view({"post": "create"})),
        path("what-ifs/<uuid:uuid>", WhatIfViewSet.as_view({"get": "retrieve"})),
        path("packets/<uuid:uuid>/content", PacketViewSet.as_view({"get": "content"})),
    ]
