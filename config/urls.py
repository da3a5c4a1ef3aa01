"""Which address leads to which room."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("fleet.pages.urls")),
    path("", include("jobs.pages.urls")),
    path("", include("warranty.pages.urls")),
]
