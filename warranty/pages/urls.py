"""Pages about roofs and their promise."""

from __future__ import annotations

from django.urls import path

from warranty.pages import public, roofs, terms

urlpatterns = [
    path("certificate/<str:number>", public.certificate, name="certificate"),
    path("", roofs.start, name="start"),
    path("roofs/", roofs.roof_list, name="roof-list"),
    path("roofs/<uuid:uuid>/", roofs.roof, name="roof"),
    path("terms/", terms.edition_list, name="edition-list"),
    path("terms/new", terms.draft, name="edition-draft"),
    path("terms/<uuid:uuid>/", terms.edition, name="edition"),
    path("terms/<uuid:uuid>/change", terms.change, name="edition-change"),
    path("terms/<uuid:uuid>/publish", terms.publish, name="edition-publish"),
    path("terms/<uuid:uuid>/certificate.pdf", terms.preview, name="edition-preview"),
]
