"""The office's side of field work: bookings, phones, and what waits for its word."""

from __future__ import annotations

from uuid import UUID

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.bookings import cancel_booking, plan_booking
from fleet.actions.devices import CODE_LIFE, make_code, revoke_device
from fleet.actions.field_settle import apply_as_is, dismiss
from fleet.api.base import Lists, RegisterViewSet, Versioned, etag_of, named
from fleet.api.base import require_match as require_version
from fleet.api.caller import Permit
from fleet.api.filters import TruthFilter
from fleet.api.schema import IF_MATCH, IF_NONE_MATCH
from fleet.api.shape import DayField, In, Out, PlainOut, word
from fleet.errors import NotFound
from fleet.models import (
    Booking,
    FieldDevice,
    FieldOperation,
    OperationState,
    Settlement,
    User,
    VisitKind,
)
from fleet.selectors.field_review import (
    devices_for,
    every_operation,
    nobody_s_devices,
    people_to_pair,
    planned_bookings,
    spelled,
    technicians_by_name,
)
from fleet.selectors.scopes import roofs_visible_to


class BookingIn(In):
    """One attendance to plan."""

    roof = serializers.UUIDField()
    kind = serializers.ChoiceField(VisitKind.choices)
    planned_on = DayField()
    window = word(60)
    technician = serializers.UUIDField(required=False)
    place = word(200)


class BookingOut(Out):
    """One planned attendance at a roof."""

    roof = serializers.UUIDField(source="roof.uuid")
    technician = serializers.UUIDField(
        source="technician.uuid", default=None, allow_null=True
    )

    class Meta:
        model = Booking
        fields = (
            "uuid",
            "roof",
            "kind",
            "planned_on",
            "window",
            "technician",
            "place",
            "state",
            "version",
        )


class BookingViewSet(Versioned, Lists, RegisterViewSet):
    """Planned attendances; technicians' phones take them along."""

    serializer_class = BookingOut
    keyset = ("planned_on", "pk")
    permits = {
        "list": Permit.STAFF,
        "retrieve": Permit.STAFF,
        "create": Permit.OFFICE,
        "cancel": Permit.OFFICE,
    }
    bodies = {"create": BookingIn}
    headers_in = {"retrieve": (IF_NONE_MATCH,), "cancel": (IF_MATCH,)}

    def get_queryset(self) -> QuerySet[Booking]:
        """Return what is planned, for those who see everything."""
        rows = planned_bookings()
        return rows if self.caller.sees_everything else rows.none()

    def create(self, request: Request) -> Response:
        """Plan an attendance."""
        body = self.body(request)
        roofs = roofs_visible_to(self.caller.scope)
        body["roof"] = named(roofs, body["roof"], "roof")
        if "technician" in body:
            body["technician"] = named(
                technicians_by_name(), body["technician"], "technician"
            )
        booking = plan_booking(by=self.caller.user, now=self.caller.now, **body)  # type: ignore[arg-type]  # shape checked
        headers = {
            "Location": f"{request.path}/{booking.uuid}",
            "ETag": etag_of(booking),
        }
        return self.answer(booking, status=201, headers=headers)

    def cancel(self, request: Request, uuid: UUID) -> Response:
        """Cancel a planned attendance, from the version that was read."""
        booking: Booking = self.get_object()  # type: ignore[assignment]  # a Booking
        require_version(request, booking)
        cancel_booking(
            booking=booking,
            version=booking.version,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        booking.refresh_from_db()
        return self.answer(booking)


class DeviceOut(Out):
    """One paired phone."""

    person = serializers.CharField(source="user.__str__")

    class Meta:
        model = FieldDevice
        fields = ("uuid", "name", "person", "paired_at", "last_seen_at", "revoked_at")


class PairingCodeIn(In):
    """Whose phone is to be paired."""

    person = serializers.UUIDField(help_text="Oneself, or for the office anybody.")


class PairingCodeOut(PlainOut):
    """A code, told once. It pairs one phone."""

    code = serializers.CharField()
    valid_for_s = serializers.IntegerField()


class DeviceViewSet(Lists, RegisterViewSet):
    """Phones that may send field work. A technician has their own."""

    serializer_class = DeviceOut
    permits = {
        "list": Permit.RECORD,
        "retrieve": Permit.RECORD,
        "revoke": Permit.RECORD,
        "create_code": Permit.RECORD,
    }
    bodies = {"create_code": PairingCodeIn}
    answers = {"create_code": {"201": PairingCodeOut}}

    def get_queryset(self) -> QuerySet[FieldDevice]:
        """Return the phones the caller looks after."""
        user = self.caller.user
        # The document is made for nobody, who has none.
        return devices_for(user) if isinstance(user, User) else nobody_s_devices()

    def revoke(self, request: Request, uuid: UUID) -> Response:
        """Refuse a phone from now on."""
        device: FieldDevice = self.get_object()  # type: ignore[assignment]  # a FieldDevice
        revoke_device(device=device, by=self.caller.user, now=self.caller.now)  # type: ignore[arg-type]  # signed in
        return self.answer(self.get_object())

    def create_code(self, request: Request) -> Response:
        """Make a code that pairs one phone with a person, once."""
        people = people_to_pair(self.caller.user)  # type: ignore[arg-type]  # signed in
        person = named(people, self.body(request)["person"], "person")
        code = make_code(user=person, by=self.caller.user, now=self.caller.now)  # type: ignore[arg-type]  # a User
        told = {"code": code, "valid_for_s": int(CODE_LIFE.total_seconds())}
        return Response(told, 201, headers={"Cache-Control": "no-store"})


class SettleIn(In):
    """The office's word on what a phone sent."""

    how = serializers.ChoiceField(["apply", "dismiss"])
    why = word(1000, required=True)


class FieldReviewOut(Out):
    """What a phone sent and what became of it."""

    number = serializers.IntegerField(source="pk")
    device = serializers.UUIDField(source="device.uuid")
    state = serializers.ChoiceField(OperationState.choices)
    settlement = serializers.ChoiceField(
        Settlement.choices, help_text="Empty: not settled."
    )
    flags = serializers.ListField(child=serializers.CharField())
    roof = serializers.UUIDField(source="roof.uuid", default=None, allow_null=True)
    body = serializers.SerializerMethodField()

    class Meta:
        model = FieldOperation
        fields = (
            "number",
            "op_id",
            "device",
            "received_at",
            "kind",
            "roof",
            "state",
            "reason_code",
            "reason",
            "flags",
            "is_open",
            "settlement",
            "body",
        )

    def get_body(self, row: FieldOperation) -> str:
        """What was sent, as it was typed; empty once it is erased."""
        return spelled(row)


class FieldReviewFilters(django_filters.FilterSet):
    """What field work can be narrowed by."""

    is_open = TruthFilter()
    state = django_filters.ChoiceFilter(choices=OperationState.choices)


class FieldReviewViewSet(Lists, RegisterViewSet):
    """What phones sent. What is open waits for the office's word."""

    serializer_class = FieldReviewOut
    filterset_class = FieldReviewFilters
    permits = {
        "list": Permit.OFFICE,
        "retrieve": Permit.OFFICE,
        "settle": Permit.OFFICE,
    }
    bodies = {"settle": SettleIn}

    def get_queryset(self) -> QuerySet[FieldOperation]:
        """Return every operation: only the office comes here."""
        return every_operation()

    def get_object(self) -> FieldOperation:
        """Return the operation of the address."""
        row = self.get_queryset().filter(pk=self.kwargs["number"]).first()
        if row is None:
            raise NotFound("No such record. Check the address and the id.")
        return row

    def settle(self, request: Request, number: int) -> Response:
        """Record what was sent as it is, or dismiss it with a reason."""
        body = self.body(request)
        act = apply_as_is if body["how"] == "apply" else dismiss
        act(
            operation=self.get_object(),
            why=str(body["why"]),
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return self.answer(self.get_object())
