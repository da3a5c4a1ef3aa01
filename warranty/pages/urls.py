"""Pages about roofs and their promise."""

from __future__ import annotations

from django.urls import path

from warranty.pages import (
    claims,
    contacts,
    lots,
    promises,
    public,
    registration,
    roofs,
    sales,
    terms,
)

urlpatterns = [
    path("certificate/<str:number>", public.certificate, name="certificate"),
    path("", roofs.start, name="start"),
    path("roofs/", roofs.roof_list, name="roof-list"),
    path("roofs/<uuid:uuid>/", roofs.roof, name="roof"),
    path("roofs/<uuid:uuid>/other-shop", promises.other_shop, name="other-shop"),
    path("roofs/<uuid:uuid>/waivers", promises.waiver, name="waiver"),
    path("roofs/<uuid:uuid>/receipts", promises.receipt, name="receipt"),
    path("roofs/<uuid:uuid>/claims", promises.report, name="claim-report"),
    path("roofs/<uuid:uuid>/doubts", promises.doubt, name="roof-doubt"),
    path("roofs/<uuid:uuid>/registration", promises.registration, name="registration"),
    path(
        "roofs/<uuid:uuid>/registration-link",
        registration.link,
        name="registration-link",
    ),
    path("roofs/<uuid:uuid>/contacts", contacts.add, name="contact-add"),
    path(
        "roofs/<uuid:uuid>/contacts/<uuid:contact>",
        contacts.change,
        name="contact-change",
    ),
    path(
        "roofs/<uuid:uuid>/contacts/<uuid:contact>/remove",
        contacts.remove,
        name="contact-remove",
    ),
    path("visits/<uuid:uuid>/approve", promises.approve, name="visit-approve"),
    path(
        "visit-approvals/<uuid:uuid>/withdraw",
        promises.withdraw,
        name="visit-approval-withdraw",
    ),
    path("waivers/<uuid:uuid>/second", promises.second_waiver, name="waiver-second"),
    path("coaches/<uuid:uuid>/sale", sales.sale, name="coach-sale"),
    path("coaches/<uuid:uuid>/retire", sales.retire, name="coach-retire"),
    path("owners/<uuid:uuid>/sale", sales.fleet_sale, name="fleet-sale"),
    path("register/<str:code>", registration.owner, name="owner-registration"),
    path("claims/", claims.claims, name="claim-list"),
    path("claims/<uuid:uuid>/", claims.claim, name="claim"),
    path("claims/<uuid:uuid>/letter", claims.letter, name="claim-letter"),
    path(
        "claims/<uuid:uuid>/letter.pdf", claims.letter_on_paper, name="claim-letter-pdf"
    ),
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
    path("lots/", lots.lot_list, name="lot-list"),
    path("lots/<path:name>/", lots.lot, name="lot"),
    path("terms/", terms.edition_list, name="edition-list"),
    path("terms/new", terms.draft, name="edition-draft"),
    path("terms/<uuid:uuid>/", terms.edition, name="edition"),
    path("terms/<uuid:uuid>/change", terms.change, name="edition-change"),
    path("terms/<uuid:uuid>/publish", terms.publish, name="edition-publish"),
    path("terms/<uuid:uuid>/certificate.pdf", terms.preview, name="edition-preview"),
]
