"""Inspection reports: asked for, listed, and fetched as PDF."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import FileResponse, HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet, entity_tags, found
from fleet.api.schema import IF_NONE_MATCH
from fleet.api.shape import Out
from fleet.models import Visit
from fleet.store import opened
from jobs.api.packets import PDF, PdfRenderer
from jobs.api.runs import RunOut, accepted
from jobs.reports import request_report
from warranty.models import Document
from warranty.selectors.packet.report import reports_visible_to, visits_reportable


class VisitReportOut(Out):
    """A visit's report: what it knew, and the hash of its bytes."""

    visit = serializers.UUIDField(source="visit.uuid")
    content = serializers.SerializerMethodField()

    class Meta:
        model = Document
        fields = (
            "uuid",
            "visit",
            "sha256",
            "size_bytes",
            "known_at",
            "rendered_at",
            "content",
        )

    def get_content(self, document: Document) -> str:
        """The address of the PDF."""
        return f"/api/v1/reports/{document.uuid}/content"


class VisitReportViewSet(Lists, RegisterViewSet):
    """The reports of one visit. A report never changes: a later one knows more."""

    serializer_class = VisitReportOut
    noun = "visit-reports"
    answers = {"create": {"202": RunOut}}

    def get_queryset(self) -> QuerySet[Document]:
        """Return the reports in the caller's scope."""
        return reports_visible_to(self.caller.scope)

    def list(self, request: Request, uuid: object) -> Response:
        """Return a page of the visit's reports."""
        self.visit = self._visit(uuid)
        return super().list(request)

    def filter_queryset(self, queryset: QuerySet[Document]) -> QuerySet[Document]:
        """Return the reports of this visit."""
        return queryset.filter(visit=self.visit)

    def create(self, request: Request, uuid: object) -> Response:
        """Ask for a report of what is recorded now; the run tells when it is there."""
        run = request_report(
            visit=self._visit(uuid),
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return accepted(self, run)

    def _visit(self, uuid: object) -> Visit:
        visit: Visit = found(visits_reportable(self.caller.scope), uuid)  # type: ignore[assignment]  # a Visit
        return visit


class ReportViewSet(RegisterViewSet):
    """Reports by their own id. A reprint is the same bytes."""

    serializer_class = VisitReportOut
    answers = {"content": {("200", PDF): OpenApiTypes.BINARY}}
    headers_in = {"content": (IF_NONE_MATCH,)}

    def get_queryset(self) -> QuerySet[Document]:
        """Return the reports in the caller's scope."""
        return reports_visible_to(self.caller.scope)

    def get_renderers(self) -> list[BaseRenderer]:
        """Offer the PDF where it is fetched."""
        offered = super().get_renderers()
        return [PdfRenderer(), *offered] if self.action == "content" else offered

    def content(self, request: Request, uuid: object) -> HttpResponse:
        """Return the PDF; its ETag is the hash of its bytes."""
        document: Document = self.get_object()  # type: ignore[assignment]  # a Document
        tag = f'"{document.sha256}"'
        headers = {"ETag": tag, "Cache-Control": "private, immutable, max-age=31536000"}
        if tag in entity_tags(request.headers.get("If-None-Match", "")):
            return HttpResponse(status=304, headers=headers)
        return FileResponse(
            opened(document.sha256),
            content_type=PDF,
            filename=f"report-{document.uuid}.pdf",
            headers=headers,
        )
