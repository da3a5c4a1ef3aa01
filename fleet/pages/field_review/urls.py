"""Addresses of the office's side of field work."""

from __future__ import annotations

from django.urls import path

from fleet.pages.field_review import bookings, devices, queue_file, review, tray

urlpatterns = [
    path("field-bookings/", bookings.bookings, name="field-bookings"),
    path("field-bookings/<uuid:uuid>", bookings.cancel, name="field-booking-cancel"),
    path("field-devices/", devices.devices, name="field-devices"),
    path("field-devices/<uuid:uuid>", devices.revoke, name="field-device-revoke"),
    path("field-files/", queue_file.queue_file, name="field-files"),
    path("photo-tray/", tray.tray, name="photo-tray"),
    path("photo-tray/<uuid:uuid>", tray.settle, name="photo-tray-settle"),
    path("photo-tray/<uuid:uuid>/picture", tray.picture, name="photo-tray-picture"),
    path("field-review/", review.review, name="field-review"),
    path("field-review/met/<uuid:uuid>", review.match, name="field-review-met"),
    path("field-review/<int:pk>", review.settle, name="field-review-settle"),
]
