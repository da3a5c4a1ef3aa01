"""Which address leads to which room."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path, re_path

from fleet.api.outside import no_such_address
from warranty.api.field_work import work

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("fleet.pages.field_review.urls")),
    path("", include("fleet.pages.urls")),
    path("", include("jobs.pages.urls")),
    path("", include("warranty.pages.urls")),
    path("", include("config.health")),
    path("", include("config.reference")),
    path("api/field/", include("fleet.api.field.urls")),
    path("api/field/work", work, name="field-work"),
    path("api/v1/", include("config.api")),
    path("field/", include("fleet.pages.field_urls")),
    re_path(r"^api/", no_such_address),
]

handler400 = "fleet.api.outside.bad_request"
handler403 = "fleet.api.outside.permission_denied"
handler404 = "fleet.api.outside.not_found"
handler500 = "fleet.api.outside.server_error"
