"""Documents and who may fetch them."""

from __future__ import annotations

from django.db.models import QuerySet

from fleet.scope import Scope
from fleet.selectors.scopes import within
from warranty.models import Document, DocumentKind


def documents_visible_to(scope: Scope) -> QuerySet[Document]:
    """Return the claim packets a caller may see: those of the claims they may see."""
    documents = Document.objects.filter(kind=DocumentKind.CLAIM_PACKET).select_related(
        "claim"
    )
    return within(documents, scope, owner_path="claim__holder_id")


def documents_kept() -> QuerySet[Document]:
    """Return every rendered document, for those who look after its bytes."""
    return Document.objects.order_by("pk")
