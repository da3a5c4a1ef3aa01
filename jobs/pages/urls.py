"""Pages about work that happens later."""

from __future__ import annotations

from django.urls import path

from jobs.pages import packets, runs

urlpatterns = [
    path("claims/<uuid:uuid>/packet", packets.request, name="claim-packet-request"),
    path("packets/<uuid:uuid>.pdf", packets.content, name="packet-content"),
    path("runs/<uuid:uuid>/", runs.run, name="run"),
]
