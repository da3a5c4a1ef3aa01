"""Claim packets: asked for, listed, and fetched as PDF."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import FileResponse, HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet, entity_tags, found
from fleet.api.caller import Permit
from fleet.api.schema import IF_NONE_MATCH
from fleet.api.shape import Out
from fleet.models import KeyRight
from fleet.store import opened
from jobs.api.runs import RunOut, accepted
from jobs.packets import request_packet
from warranty.models import Claim, Document
from warranty.selectors.claims import claims_visible_to
from warranty.selectors.documents import documents_visible_to

PDF = "application/pdf"


class PacketOut(Out):
    """A claim packet: what it knew, and the hash of its bytes."""

    claim = serializers.UUIDField(source="claim.uuid")
    content = serializers.SerializerMethodField()

    class Meta:
        model = Document
        fields = (
            "uuid",
            "claim",
            "sha256",
            "size_bytes",
            "known_at",
            "rendered_at",
            "content",
        )

    def get_content(self, document: Document) -> str:
        """The address of the PDF."""
        return f"/api/v1/packets/{document.uuid}/content"


class PdfRenderer(BaseRenderer):
    """Names the PDF to content negotiation; the bytes are streamed as they are."""

    media_type = PDF
    format = "pdf"
    charset = None
    render_style = "binary"

    def render(self, data: object, *_: object, **__: object) -> object:
        """Return problems as the JSON they are."""
        return JSONRenderer().render(data)


class ClaimPacketViewSet(Lists, RegisterViewSet):
    """The packets of one claim. A packet never changes: a later one knows more."""

    key_right = KeyRight.CLAIMS
    serializer_class = PacketOut
    noun = "claim-packets"
    permits = {"create": Permit.OFFICE}
    answers = {"create": {"202": RunOut}}

    def get_queryset(self) -> QuerySet[Document]:
        """Return the packets of the claims in the caller's scope."""
        return documents_visible_to(self.caller.scope)

    def list(self, request: Request, uuid: object) -> Response:
        """Return a page of the claim's packets."""
        self.claim = self._claim(uuid)
        return super().list(request)

    def filter_queryset(self, queryset: QuerySet[Document]) -> QuerySet[Document]:
        """Return the packets of this claim."""
        return queryset.filter(claim=self.claim)

    def create(self, request: Request, uuid: object) -> Response:
        """Ask for a packet of what is recorded now; the run tells when it is there."""
        run = request_packet(
            claim=self._claim(uuid),
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return accepted(self, run)

    def _claim(self, uuid: object) -> Claim:
        claim: Claim = found(claims_visible_to(self.caller.scope), uuid)  # type: ignore[assignment]  # a Claim
        return claim


class PacketViewSet(RegisterViewSet):
    """Packets by their own id."""

    serializer_class = PacketOut
    answers = {"content": {("200", PDF): OpenApiTypes.BINARY}}
    headers_in = {"content": (IF_NONE_MATCH,)}

    def get_queryset(self) -> QuerySet[Document]:
        """Return the packets of the claims in the caller's scope."""
        return documents_visible_to(self.caller.scope)

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
            filename=f"claim-packet-{document.uuid}.pdf",
            headers=headers,
        )
