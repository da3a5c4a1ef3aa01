"""Certificates: asked for, listed, and fetched as PDF."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import FileResponse, HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet, entity_tags, found
from fleet.api.caller import Permit
from fleet.api.schema import IF_NONE_MATCH
from fleet.api.shape import Out
from fleet.models import Roof
from fleet.selectors.scopes import roofs_visible_to
from fleet.store import opened
from jobs.api.packets import PDF, PdfRenderer
from jobs.api.runs import RunOut, accepted
from jobs.certificates import request_certificate
from warranty.models import Document
from warranty.selectors.certificates import certificates_visible_to, public_url


class CertificateOut(Out):
    """An issued certificate: its number, and the hash of its bytes."""

    number = serializers.CharField(source="certificate.number")
    roof = serializers.UUIDField(source="certificate.roof.uuid")
    edition = serializers.CharField(source="certificate.edition.code")
    issued_on = serializers.DateField(source="certificate.issued_on")
    public_page = serializers.SerializerMethodField()
    content = serializers.SerializerMethodField()

    class Meta:
        model = Document
        fields = (
            "uuid",
            "number",
            "roof",
            "edition",
            "issued_on",
            "sha256",
            "size_bytes",
            "known_at",
            "public_page",
            "content",
        )

    def get_public_page(self, document: Document) -> str:
        """Where anybody confirms the number; it shows no personal data."""
        return public_url(document.certificate.number)

    def get_content(self, document: Document) -> str:
        """The address of the PDF."""
        return f"/api/v1/certificates/{document.uuid}/content"


class RoofCertificateViewSet(Lists, RegisterViewSet):
    """The certificates of one roof. One never changes: a later one knows more."""

    serializer_class = CertificateOut
    noun = "roof-certificates"
    permits = {"create": Permit.OFFICE}
    answers = {"create": {"202": RunOut}}

    def get_queryset(self) -> QuerySet[Document]:
        """Return the certificates that were issued to the caller."""
        return certificates_visible_to(self.caller.scope)

    def list(self, request: Request, uuid: object) -> Response:
        """Return a page of the roof's certificates."""
        self.roof = self._roof(uuid)
        return super().list(request)

    def filter_queryset(self, queryset: QuerySet[Document]) -> QuerySet[Document]:
        """Return the certificates of this roof."""
        return queryset.filter(certificate__roof=self.roof)

    def create(self, request: Request, uuid: object) -> Response:
        """Ask for a certificate of what is recorded now; its run tells when."""
        run = request_certificate(
            roof=self._roof(uuid),
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return accepted(self, run)

    def _roof(self, uuid: object) -> Roof:
        roof: Roof = found(roofs_visible_to(self.caller.scope), uuid)  # type: ignore[assignment]  # a Roof
        return roof


class CertificateViewSet(RegisterViewSet):
    """Certificates by their own id. A reprint is the same bytes."""

    serializer_class = CertificateOut
    answers = {"content": {("200", PDF): OpenApiTypes.BINARY}}
    headers_in = {"content": (IF_NONE_MATCH,)}

    def get_queryset(self) -> QuerySet[Document]:
        """Return the certificates that were issued to the caller."""
        return certificates_visible_to(self.caller.scope)

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
            filename=f"certificate-{document.certificate.number}.pdf",
            headers=headers,
        )
