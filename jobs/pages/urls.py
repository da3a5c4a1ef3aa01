"""Pages about work that happens later."""

from __future__ import annotations

from django.urls import path

from jobs.pages import (
    certificates,
    imports,
    later_work,
    notice_links,
    notices,
    packets,
    reports,
    runs,
    today,
    what_if,
)

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
    path("notices/", notices.notices, name="notice-list"),
    path("notices/preview", notices.preview, name="notice-preview"),
    path("notices/preview.html", notices.preview_html, name="notice-preview-html"),
    path("notices/<uuid:uuid>/", notices.message, name="notice-message"),
    path("notices/<uuid:uuid>/again", notices.send_again, name="notice-again"),
    path("notices/<uuid:uuid>/arrived", notices.arrived, name="notice-arrived"),
    path("notices/<uuid:uuid>/release", notices.release, name="notice-release"),
    path("notices/to/<uuid:uuid>/", notices.wish, name="notice-wish"),
    path("notices/to/<uuid:uuid>/set", notices.set_wish, name="notice-wish-set"),
    path(
        "notices/to/<uuid:uuid>/reminders/<str:turn>",
        notices.turn_reminders,
        name="notice-reminders",
    ),
    path("notice/<str:token>", notice_links.show, name="notice-show"),
    path("notice/stop/<str:token>", notice_links.stop, name="notice-stop"),
    path("later-work/", later_work.later_work, name="later-work"),
    path("visits/<uuid:uuid>/report", reports.request, name="report-request"),
    path("reports/<uuid:uuid>.pdf", reports.content, name="report-content"),
    path("runs/<uuid:uuid>/", runs.run, name="run"),
    path("runs/<uuid:uuid>/retry", later_work.retry, name="run-retry"),
    path("imports/", imports.import_list, name="import-list"),
    path("imports/check", imports.check, name="import-check"),
    path("imports/<uuid:uuid>/", imports.show, name="import"),
    path("imports/<uuid:uuid>/commit", imports.commit, name="import-commit"),
    path("terms/<uuid:uuid>/what-if", what_if.request, name="what-if-request"),
    path("what-if/<uuid:uuid>/", what_if.report, name="what-if"),
]
