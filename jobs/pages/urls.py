"""Pages about work that happens later."""

from __future__ import annotations

from django.urls import path

from jobs.pages import certificates, packets, runs, what_if

urlpatterns = [
    path(
        "roofs/<uuid:uuid>/certificate",
        certificates.request,
        name="certificate-request",
    ),
    path(
        "certificates/<uuid:uuid>.pdf",
        certificates.content,
        name="certificate-content",
    ),
    path("claims/<uuid:uuid>/packet", packets.request, name="claim-packet-request"),
    path("packets/<uuid:uuid>.pdf", packets.content, name="packet-content"),
    path("runs/<uuid:uuid>/", runs.run, name="run"),
    path("terms/<uuid:uuid>/what-if", what_if.request, name="what-if-request"),
    path("what-if/<uuid:uuid>/", what_if.report, name="what-if"),
]
