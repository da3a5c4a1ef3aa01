"""The API's addresses under /api/v1/, and its OpenAPI document."""

from __future__ import annotations

from django.urls import URLPattern, path, re_path
from drf_spectacular.renderers import OpenApiJsonRenderer
from drf_spectacular.views import SpectacularAPIView
from rest_framework.permissions import AllowAny

from fleet.api.outside import no_such_address
from fleet.api.routes import addresses as fleet_addresses
from jobs.api.routes import addresses as jobs_addresses
from warranty.api.routes import addresses as warranty_addresses


class DocumentView(SpectacularAPIView):
    """The OpenAPI document, for everyone: it tells of shapes, not of records."""

    authentication_classes = ()
    permission_classes = (AllowAny,)
    renderer_classes = (OpenApiJsonRenderer,)


urlpatterns: list[URLPattern] = [
    path("openapi.json", DocumentView.as_view(), name="openapi"),
    *fleet_addresses(),
    *warranty_addresses(),
    *jobs_addresses(),
    # Also while debugging, when Django would answer a page of its own.
    re_path(r"^.*$", no_such_address),
]
