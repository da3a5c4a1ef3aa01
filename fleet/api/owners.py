"""Owners, and duplicates that become one."""

from __future__ import annotations

from uuid import UUID

import django_filters
from django.db.models import Model, QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.catalogue import change_owner
from fleet.actions.coaches import add_owner, merge_coaches, merge_owners
from fleet.api.base import (
    Lists,
    RegisterViewSet,
    Versioned,
    etag_of,
    named,
    require_match,
)
from fleet.api.caller import Permit
from fleet.api.facts import RecordedBy
from fleet.api.schema import IF_MATCH, IF_NONE_MATCH
from fleet.api.shape import In, Out, word
from fleet.models import Merge, MergeKind, Owner, OwnerKind
from fleet.selectors.lists import merges
from fleet.selectors.scopes import coaches_visible_to, owners_visible_to


class OwnerChangeIn(In):
    """What may change about an owner."""

    name = serializers.CharField(max_length=200, required=False)
    kind = serializers.ChoiceField(OwnerKind.choices, required=False)
    email = serializers.EmailField(required=False, allow_blank=True)
    phone = word(32)


class OwnerIn(OwnerChangeIn):
    """A private person or a rental fleet."""

    uuid = serializers.UUIDField(required=False)
    name = serializers.CharField(max_length=200)
    kind = serializers.ChoiceField(OwnerKind.choices)


class OwnerOut(Out):
    """Who holds coaches, and how they are reached."""

    class Meta:
        model = Owner
        fields = ("uuid", "kind", "name", "email", "phone", "version")


class OwnerFilters(django_filters.FilterSet):
    """What owners can be narrowed by."""

    kind = django_filters.ChoiceFilter(choices=OwnerKind.choices)
    name = django_filters.CharFilter(lookup_expr="icontains")


class OwnerViewSet(Versioned, Lists, RegisterViewSet):
    """Owners. A fleet's manager sees its own."""

    serializer_class = OwnerOut
    filterset_class = OwnerFilters
    http_method_names = ("get", "post", "patch", "head")
    is_idempotent = True
    permits = {"create": Permit.OFFICE, "partial_update": Permit.OFFICE}
    bodies = {"create": OwnerIn, "partial_update": OwnerChangeIn}
    headers_in = {"retrieve": (IF_NONE_MATCH,), "partial_update": (IF_MATCH,)}

    def get_queryset(self) -> QuerySet[Owner]:
        """Return the owners in the caller's scope."""
        return owners_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Add an owner."""
        body = self.body(request)
        known = self.get_queryset().filter(uuid=body.get("uuid")).first()
        if known is not None:
            is_same = all(getattr(known, name) == body[name] for name in body)
            return self.known_already(known, is_same)
        owner = add_owner(**body)  # type: ignore[arg-type]  # shape checked
        headers = {
            "Location": f"{request.path}/{owner.uuid}",
            "ETag": etag_of(owner),
        }
        return self.answer(owner, status=201, headers=headers)

    def partial_update(self, request: Request, uuid: object) -> Response:
        """Change an owner's name or contact, from the version that was read."""
        owner: Owner = self.get_object()  # type: ignore[assignment]  # an Owner
        require_match(request, owner)
        body = self.body(request)
        changed = change_owner(owner=owner, version=owner.version, changes=body)
        return self.answer(changed, headers={"ETag": etag_of(changed)})


class MergeIn(In):
    """Which of two records of one owner or coach stays."""

    kind = serializers.ChoiceField(MergeKind.choices)
    kept = serializers.UUIDField()
    dropped = serializers.UUIDField()
    why = serializers.CharField(max_length=1000)


class MergeOut(Out):
    """One duplicate that became another record's."""

    why = serializers.CharField()
    recorded_by = RecordedBy()

    class Meta:
        model = Merge
        fields = (
            "uuid",
            "kind",
            "kept",
            "dropped",
            "why",
            "recorded_at",
            "recorded_by",
        )


class MergeFilters(django_filters.FilterSet):
    """What merges can be narrowed by."""

    kind = django_filters.ChoiceFilter(choices=MergeKind.choices)
    kept = django_filters.UUIDFilter()
    dropped = django_filters.UUIDFilter()


class MergeViewSet(Lists, RegisterViewSet):
    """Merges of duplicate owners and coaches. What was merged stays visible here."""

    serializer_class = MergeOut
    filterset_class = MergeFilters
    permits = {
        "list": Permit.STAFF,
        "retrieve": Permit.STAFF,
        "create": Permit.OFFICE,
    }
    bodies = {"create": MergeIn}

    def get_queryset(self) -> QuerySet[Merge]:
        """Return all merges: only staff come here."""
        return merges()

    def create(self, request: Request) -> Response:
        """Make one record count as the other."""
        body = self.body(request)
        is_owner = body["kind"] == MergeKind.OWNER
        merge = (merge_owners if is_owner else merge_coaches)(
            kept=self._record(body, "kept", is_owner=is_owner),  # type: ignore[arg-type]  # by kind
            dropped=self._record(body, "dropped", is_owner=is_owner),  # type: ignore[arg-type]  # by kind
            why=str(body["why"]),
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        headers = {"Location": f"{request.path}/{merge.uuid}"}
        return self.answer(merge, status=201, headers=headers)

    def _record(self, body: dict[str, object], member: str, *, is_owner: bool) -> Model:
        scope = self.caller.scope
        rows = owners_visible_to(scope) if is_owner else coaches_visible_to(scope)
        uuid: UUID = body[member]  # type: ignore[assignment]  # shape checked
        return named(rows, uuid, member)
