"""Pages about roofs and their promise."""

from __future__ import annotations

from django.urls import path

from warranty.pages import public, roofs

urlpatterns = [
    path("certificate/<str:number>", public.certificate, name="certificate"),
    path("", roofs.start, name="start"),
    path("roofs/", roofs.roof_list, name="roof-list"),
    path("roofs/<uuid:uuid>/", roofs.roof, name="roof"),
]
