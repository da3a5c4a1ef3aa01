"""Product builds, technicians, and who is signed in."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.catalogue import add_system
from fleet.api.base import Lists, RegisterViewSet
from fleet.api.caller import Permit
from fleet.api.shape import In, Out, PlainOut, decimal, word
from fleet.models import CoatRole, Role, Substrate, System, SystemCoat, Technician
from fleet.scope import Sight
from fleet.selectors.lists import systems, technicians

WEATHER = ("air_min_c", "air_max_c", "rh_max_ratio", "dew_margin_c")


class LimitsIn(In):
    """Limits of weather; a missing one is no limit of its own."""

    air_min_c = decimal(5, 2, required=False)
    air_max_c = decimal(5, 2, required=False)
    rh_max_ratio = serializers.DecimalField(
        5, 4, min_value=0, max_value=1, required=False, allow_null=True
    )
    dew_margin_c = decimal(4, 2, required=False)


class CoatIn(LimitsIn):
    """One coat of a system."""

    role = serializers.ChoiceField(CoatRole.choices)
    product = word(120)
    wet_target_um = decimal(10, 4, low=0)
    volume_solids_ratio = serializers.DecimalField(5, 4, min_value=0, max_value=1)
    dry_min_um = decimal(10, 4, low=0, required=False)
    dry_max_um = decimal(10, 4, low=0, required=False)
    recoat_min_hours = decimal(6, 2, low=0, required=False)
    recoat_max_hours = decimal(6, 2, low=0, required=False)


class SystemIn(LimitsIn):
    """A product build. It never changes: another build has another code."""

    uuid = serializers.UUIDField(required=False)
    code = serializers.CharField(max_length=40)
    title = serializers.CharField(max_length=200)
    substrates = serializers.ListField(
        child=serializers.ChoiceField(Substrate.choices), min_length=1, max_length=4
    )
    coats = serializers.ListField(child=CoatIn(), min_length=1, max_length=4)


class CoatOut(Out):
    """One coat, in the order of application."""

    class Meta:
        model = SystemCoat
        fields = (
            "position",
            "role",
            "product",
            "wet_target_um",
            "volume_solids_ratio",
            "dry_min_um",
            "dry_max_um",
            "recoat_min_hours",
            "recoat_max_hours",
            *WEATHER,
        )


class SystemOut(Out):
    """A product build with its coats and the substrates it may be laid on."""

    substrates = serializers.SerializerMethodField()
    coats = serializers.SerializerMethodField()

    class Meta:
        model = System
        fields = ("uuid", "code", "title", *WEATHER, "substrates", "coats")

    @extend_schema_field(
        serializers.ListField(child=serializers.ChoiceField(Substrate.choices))
    )
    def get_substrates(self, system: System) -> list[str]:
        """The substrates it may be laid on."""
        return sorted(row.substrate for row in system.substrates.all())

    @extend_schema_field(CoatOut(many=True))
    def get_coats(self, system: System) -> list[object]:
        """The coats in the order of application."""
        rows = sorted(system.coats.all(), key=lambda coat: coat.position)
        told: list[object] = CoatOut(rows, many=True).data
        return told


class SystemFilters(django_filters.FilterSet):
    """What systems can be narrowed by."""

    code = django_filters.CharFilter()


class SystemViewSet(Lists, RegisterViewSet):
    """Product builds: coats, targets and limits. The data sheets come first."""

    serializer_class = SystemOut
    filterset_class = SystemFilters
    permits = {"create": Permit.OFFICE}
    bodies = {"create": SystemIn}

    def get_queryset(self) -> QuerySet[System]:
        """Return all systems: what products are is no secret."""
        return systems()

    def create(self, request: Request) -> Response:
        """Add a product build."""
        body = self.body(request)
        weather = {name: body.pop(name) for name in WEATHER if name in body}
        system = add_system(weather=weather, **body)  # type: ignore[arg-type]  # shape checked
        headers = {"Location": f"{request.path}/{system.uuid}"}
        return self.answer(system, status=201, headers=headers)


class TechnicianOut(Out):
    """A person who works on roofs."""

    class Meta:
        model = Technician
        fields = ("uuid", "name")


class TechnicianFilters(django_filters.FilterSet):
    """What technicians can be narrowed by."""

    name = django_filters.CharFilter(lookup_expr="icontains")


class TechnicianViewSet(Lists, RegisterViewSet):
    """Technicians; a visit adds them by the name it gives."""

    serializer_class = TechnicianOut
    filterset_class = TechnicianFilters
    permits = {"list": Permit.STAFF, "retrieve": Permit.STAFF}

    def get_queryset(self) -> QuerySet[Technician]:
        """Return everybody who works on roofs: only staff come here."""
        return technicians()


class MeOut(PlainOut):
    """Who is signed in, and what that person may do."""

    uuid = serializers.UUIDField()
    name = serializers.CharField()
    role = serializers.ChoiceField(Role.choices)
    owner = serializers.UUIDField(allow_null=True)
    sight = serializers.ChoiceField([(word.value, word.value) for word in Sight])
    may_write_records = serializers.BooleanField()
    may_run_office = serializers.BooleanField()


class MeViewSet(RegisterViewSet):
    """The caller."""

    serializer_class = MeOut
    noun = "me"

    def retrieve(self, request: Request) -> Response:
        """Return who is signed in, with role and scope."""
        user, scope = self.caller.user, self.caller.scope
        return self.answer(
            {
                "uuid": user.uuid,  # type: ignore[union-attr]  # signed in
                "name": str(user),
                "role": user.role,  # type: ignore[union-attr]  # signed in
                "owner": self.caller.owner_uuid or None,
                "sight": scope.sight,
                "may_write_records": scope.may_write_records,
                "may_run_office": scope.may_run_office,
            }
        )
