"""Sales: promises that pass to a new holder, one coach or a whole fleet at once."""

from __future__ import annotations

from uuid import UUID, uuid4

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet, named
from fleet.api.caller import Caller, Permit
from fleet.api.shape import DayField, In, Out, PlainOut
from fleet.models import Coach, Owner
from fleet.selectors.scopes import coaches_visible_to, owners_visible_to
from warranty.actions.transfers import MOST_COACHES, transfer_coverages
from warranty.models import Transfer
from warranty.selectors.transfers import days_late, is_open, transfers_visible_to


class TransferIn(In):
    """A sale: which coaches, to whom, when, and when we were told."""

    uuid = serializers.UUIDField(required=False)
    coaches = serializers.ListField(
        child=serializers.UUIDField(), min_length=1, max_length=MOST_COACHES
    )
    to = serializers.UUIDField(help_text="The new holder.")
    sold_on = DayField()
    told_on = DayField()


class TransferOut(Out):
    """One roof's promise that passed on. Its history stays where it was."""

    roof = serializers.UUIDField(source="roof.uuid")
    former = serializers.SerializerMethodField()
    holder = serializers.SerializerMethodField()
    is_late = serializers.BooleanField()
    days_late = serializers.SerializerMethodField()
    is_open = serializers.SerializerMethodField()

    class Meta:
        model = Transfer
        fields = (
            "uuid",
            "roof",
            "former",
            "holder",
            "sold_on",
            "told_on",
            "deadline_on",
            "is_late",
            "days_late",
            "needs_inspection",
            "is_open",
            "recorded_at",
        )

    def get_former(self, transfer: Transfer) -> str | None:
        """The former holder; only staff and they themselves learn of it."""
        return self._told(transfer.former)

    def get_holder(self, transfer: Transfer) -> str | None:
        """The new holder; only staff and they themselves learn of it."""
        return self._told(transfer.holder)

    def get_days_late(self, transfer: Transfer) -> int:
        """How many days after the deadline the office was told."""
        return days_late(transfer)

    def get_is_open(self, transfer: Transfer) -> bool:
        """Whether the edition still waits for a passing inspection."""
        return is_open(transfer)

    def _told(self, owner: Owner | None) -> str | None:
        caller: Caller = self.context["caller"]
        if owner is None:
            return None
        is_own = owner.pk in caller.scope.owner_ids
        return str(owner.uuid) if caller.sees_everything or is_own else None


class TransfersOut(PlainOut):
    """The promises that one sale passed on; a coach without one is not in it."""

    transfers = TransferOut(many=True)


class TransferFilters(django_filters.FilterSet):
    """What transfers can be narrowed by."""

    roof = django_filters.UUIDFilter(field_name="roof__uuid")


class TransferViewSet(Lists, RegisterViewSet):
    """Promises that passed on with a sale, one coach's or a fleet's."""

    serializer_class = TransferOut
    filterset_class = TransferFilters
    permits = {"create": Permit.OFFICE}
    bodies = {"create": TransferIn}
    answers = {"create": {"201": TransfersOut}}

    def get_queryset(self) -> QuerySet[Transfer]:
        """Return the transfers in the caller's scope."""
        return transfers_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Record a sale: all its coaches, or none."""
        body, scope = self.body(request), self.caller.scope
        owner = named(owners_visible_to(scope), body["to"], "to")
        made = transfer_coverages(
            coaches=self._coaches(body["coaches"]),  # type: ignore[arg-type]  # shape checked
            to=owner,  # type: ignore[arg-type]  # an Owner
            sold_on=body["sold_on"],  # type: ignore[arg-type]  # a day
            told_on=body["told_on"],  # type: ignore[arg-type]  # a day
            uuid=body.get("uuid") or uuid4(),  # type: ignore[arg-type]  # a UUID
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        rows = self.get_queryset().filter(pk__in=[each.pk for each in made])
        listed = rows.order_by("pk")
        out = TransferOut(listed, many=True, context=self.get_serializer_context())
        return Response({"transfers": out.data}, 201)

    def _coaches(self, uuids: list[UUID]) -> list[Coach]:
        found = coaches_visible_to(self.caller.scope).filter(uuid__in=uuids)
        coaches = {coach.uuid: coach for coach in found}
        for place, uuid in enumerate(uuids):
            if uuid not in coaches:
                raise ValidationError(
                    {"coaches": {place: ["No such record. Check the id."]}}, "not-found"
                )
        return [coaches[uuid] for uuid in uuids]
