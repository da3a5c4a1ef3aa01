"""Addresses of what phones on roofs ask and send."""

from __future__ import annotations

from django.urls import path

from fleet.api.field import operations, pairing, photos

urlpatterns = [
    path("batch", operations.batch, name="field-batch"),
    path("ops/<uuid:op_id>", operations.operation, name="field-operation"),
    path("pair", pairing.pair_phone, name="field-pair"),
    path("photos/<uuid:photo_id>", photos.photo, name="field-photo"),
]
