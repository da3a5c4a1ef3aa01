"""Pages about work that happens later."""

from __future__ import annotations

from django.urls import path

from jobs.pages import certificates, imports, later_work, packets, runs, today, what_if

urlpatterns = [
    path("today/", today.today, name="today"),
    path(
        "roofs/<uuid:uuid>/certificate",
        certificates.request,
        name="certificate-request",
    ),
    path(
        "certificates/<uuid:uuid>.pdf",
        certificates.content,
        name="certificate-content",
    ),
    path("claims/<uuid:uuid>/packet", packets.request, name="claim-packet-request"),
    path("packets/<uuid:uuid>.pdf", packets.content, name="packet-content"),
    path("later-work/", later_work.later_work, name="later-work"),
    path("runs/<uuid:uuid>/", runs.run, name="run"),
    path("imports/", imports.import_list, name="import-list"),
    path("imports/check", imports.check, name="import-check"),
    path("imports/<uuid:uuid>/", imports.show, name="import"),
    path("imports/<uuid:uuid>/commit", imports.commit, name="import-commit"),
    path("runs/<uuid:uuid>/retry", later_work.retry, name="run-retry"),
    path("terms/<uuid:uuid>/what-if", what_if.request, name="what-if-request"),
    path("what-if/<uuid:uuid>/", what_if.report, name="what-if"),
]
