"""Pages about roofs and their promise."""

from __future__ import annotations

from django.urls import path

from warranty.pages import claims, public, roofs, terms

urlpatterns = [
    path("certificate/<str:number>", public.certificate, name="certificate"),
    path("", roofs.start, name="start"),
    path("roofs/", roofs.roof_list, name="roof-list"),
    path("roofs/<uuid:uuid>/", roofs.roof, name="roof"),
    path("claims/", claims.claims, name="claim-list"),
    path("claims/<uuid:uuid>/", claims.claim, name="claim"),
    path("claims/<uuid:uuid>/letter", claims.letter, name="claim-letter"),
    path("claims/<uuid:uuid>/decide", claims.decide, name="claim-decide"),
    path("claims/<uuid:uuid>/second", claims.second, name="claim-second"),
    path("claims/<uuid:uuid>/remedies", claims.remedy, name="claim-remedy"),
    path("claims/<uuid:uuid>/doubts", claims.doubt, name="claim-doubt"),
    *(
        path(
            f"claims/<uuid:uuid>/{name}",
            claims.move,
            {"name": name},
            name=f"claim-{name}",
        )
        for name in claims.MOVES
    ),
    path("terms/", terms.edition_list, name="edition-list"),
    path("terms/new", terms.draft, name="edition-draft"),
    path("terms/<uuid:uuid>/", terms.edition, name="edition"),
    path("terms/<uuid:uuid>/change", terms.change, name="edition-change"),
    path("terms/<uuid:uuid>/publish", terms.publish, name="edition-publish"),
    path("terms/<uuid:uuid>/certificate.pdf", terms.preview, name="edition-preview"),
]
