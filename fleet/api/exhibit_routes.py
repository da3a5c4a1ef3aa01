"""The addresses of exhibits and of the tray of old photos."""

from __future__ import annotations

from django.urls import URLPattern, path

from fleet.api.exhibits import ExhibitViewSet, TrayPhotoViewSet


def exhibit_addresses() -> list[URLPattern]:
    """Return the addresses below /api/v1/."""
    exhibit, tray = ExhibitViewSet.as_view, TrayPhotoViewSet.as_view
    one, waiting = "exhibits/<uuid:uuid>", "tray-photos/<uuid:uuid>"
    return [
        path("exhibits", exhibit({"get": "list"})),
        path(one, exhibit({"get": "retrieve", "put": "receive"})),
        path(f"{one}/original", exhibit({"get": "original"})),
        path(f"{one}/screen", exhibit({"get": "screen"})),
        path(f"{one}/thumbnail", exhibit({"get": "thumbnail"})),
        path(f"{one}/seen-elsewhere", exhibit({"get": "seen_elsewhere"})),
        path("tray-photos", tray({"get": "list"})),
        path(waiting, tray({"get": "retrieve"})),
        path(f"{waiting}/assign", tray({"post": "assign"})),
        path(f"{waiting}/leave-out", tray({"post": "leave_out"})),
    ]
