"""Roofs: what lies on which coach, its plan, and its ledger."""

from __future__ import annotations

import json

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.roofs import installation, open_roof
from fleet.api.base import (
    Lists,
    RegisterViewSet,
    Versioned,
    found,
    named,
)
from fleet.api.caller import Caller, Permit
from fleet.api.choosing import Expansion
from fleet.api.coaches import CoachOut
from fleet.api.facts import (
    ROOF_FACT_FIELDS,
    FactFilters,
    FactIn,
    FactOut,
    FactViewSet,
)
from fleet.api.paging import KeysetPagination
from fleet.api.schema import IF_NONE_MATCH
from fleet.api.shape import (
    SMALL_INT_MAX,
    DayField,
    In,
    MomentField,
    Out,
    PlainOut,
)
from fleet.api.systems import SystemOut
from fleet.models import Coach, Installation, LedgerEntry, Roof, Substrate, System
from fleet.scope import Scope
from fleet.selectors.lists import entries_visible_to, ledger_head, systems
from fleet.selectors.plans import plan_of
from fleet.selectors.records import roof_records
from fleet.selectors.scopes import coaches_visible_to, roofs_visible_to

# What entries may hold and still be told to a later holder: no claims, no owners.
TOLD_TO_HOLDERS = frozenset(
    {
        "roof",
        "coachdescription",
        "retirement",
        "installation",
        "penetration",
        "alteration",
        "visit",
        "finding",
        "cure",
        "filmreading",
        "climatereading",
        "moisturereading",
        "adhesionreading",
        "coatlog",
        "termsassignment",
        "registration",
        "waiver",
    }
)


class RoofOut(Out):
    """One roof system on one coach. Its dates follow from its installation."""

    coach = serializers.UUIDField(source="coach.uuid")
    unit_no = serializers.CharField(source="coach.unit_no")
    system = serializers.CharField(source="system.code", default=None, allow_null=True)
    substrate = serializers.CharField(help_text="Empty until it is installed.")

    class Meta:
        model = Roof
        fields = (
            "uuid",
            "coach",
            "unit_no",
            "roof_no",
            "system",
            "substrate",
            "started_on",
            "completed_on",
            "opened_at",
            "version",
        )


class RoofIn(In):
    """A roof to open on a coach; the register counts them when no number is given."""

    uuid = serializers.UUIDField(required=False)
    coach = serializers.UUIDField()
    roof_no = serializers.IntegerField(
        min_value=1, max_value=SMALL_INT_MAX, required=False
    )


class RoofFilters(django_filters.FilterSet):
    """What roofs can be narrowed by."""

    coach = django_filters.UUIDFilter(field_name="coach__uuid")
    unit_no = django_filters.CharFilter(field_name="coach__unit_no")
    holder = django_filters.UUIDFilter(field_name="coach__holder__uuid")
    system = django_filters.CharFilter(field_name="system__code")
    substrate = django_filters.ChoiceFilter(choices=Substrate.choices)
    completed_from = django_filters.DateFilter(
        field_name="completed_on", lookup_expr="gte"
    )
    completed_to = django_filters.DateFilter(
        field_name="completed_on", lookup_expr="lte"
    )


class KnownAtQuery(In):
    """As known at which moment; now when it is not given."""

    known_at = MomentField(required=False)


class PlanPenetrationOut(PlainOut):
    """A penetration by its middle and its size, in metres."""

    label = serializers.CharField()
    kind = serializers.CharField()
    x_m = serializers.FloatField()
    y_m = serializers.FloatField()
    length_m = serializers.FloatField()
    width_m = serializers.FloatField()
    is_detailed = serializers.BooleanField()


class PlanDoubtOut(PlainOut):
    """Something about the plan that looks odd, as a question."""

    doubt = serializers.CharField()
    message = serializers.CharField()
    labels = serializers.ListField(child=serializers.CharField())


class PlanOut(PlainOut):
    """The outline (x from the front cap, y from the left gutter) and what is on it."""

    roof = serializers.UUIDField()
    length_m = serializers.FloatField()
    width_m = serializers.FloatField()
    front_lap_m = serializers.FloatField()
    rear_lap_m = serializers.FloatField()
    plan_area_m2 = serializers.FloatField()
    lap_area_m2 = serializers.FloatField()
    coated_area_m2 = serializers.FloatField()
    openings_area_m2 = serializers.FloatField()
    perimeter_m = serializers.FloatField()
    detail_m = serializers.FloatField()
    penetrations = PlanPenetrationOut(many=True)
    doubts = PlanDoubtOut(many=True)


def _coaches(scope: Scope) -> QuerySet[Coach]:
    return coaches_visible_to(scope).select_related("holder")


def _systems(_: Scope) -> QuerySet[System]:
    return systems()


class RoofViewSet(Versioned, Lists, RegisterViewSet):
    """Roofs. A roof is opened at the survey; its facts are recorded beside it."""

    serializer_class = RoofOut
    filterset_class = RoofFilters
    permits = {"create": Permit.RECORD}
    is_idempotent = True
    bodies = {"create": RoofIn}
    queries = {"plan": KnownAtQuery}
    answers = {"plan": PlanOut}
    headers_in = {"retrieve": (IF_NONE_MATCH,)}
    expansions = {
        "coach": Expansion(out=CoachOut, rows=_coaches, key=lambda row: row.coach_id),
        "system": Expansion(
            out=SystemOut, rows=_systems, key=lambda row: row.system_id
        ),
    }

    def get_queryset(self) -> QuerySet[Roof]:
        """Return the roofs in the caller's scope."""
        return roofs_visible_to(self.caller.scope)

    def create(self, request: Request) -> Response:
        """Open a roof and its chain on a coach."""
        body = self.body(request)
        coach = named(coaches_visible_to(self.caller.scope), body.pop("coach"), "coach")
        known = self.get_queryset().filter(uuid=body.get("uuid")).first()
        if known is not None:
            same = (coach.pk, body.get("roof_no", known.roof_no))
            return self.known_already(known, (known.coach_id, known.roof_no) == same)
        roof = open_roof(coach=coach, by=self.caller.user, now=self.caller.now, **body)  # type: ignore[arg-type]  # shape checked
        headers = {"Location": f"{request.path}/{roof.uuid}"}
        return self.answer(roof, status=201, headers=headers)

    def plan(self, request: Request, uuid: object) -> Response:
        """Return the roof's outline, areas, laps and penetrations."""
        known_at = self.query(request).get("known_at", self.caller.now)
        roof: Roof = self.get_object()  # type: ignore[assignment]  # a Roof
        records = roof_records([roof.pk], known_at=known_at)[roof.pk]  # type: ignore[arg-type]  # a moment
        plan = plan_of(records)
        measures = {
            name: getattr(plan, name)
            for name in PlanOut().fields
            if hasattr(plan, name) and name != "penetrations"
        }
        body = {
            "roof": roof.uuid,
            **measures,
            "penetrations": records.penetrations,
            "doubts": plan.warnings,
        }
        return self.answer(body)


class InstallationIn(FactIn):
    """Which system was laid on which substrate, and when."""

    system = serializers.CharField(max_length=40, help_text="The system's code.")
    substrate = serializers.ChoiceField(Substrate.choices)
    started_on = DayField()
    completed_on = DayField(required=False, allow_null=True)


class InstallationOut(FactOut):
    """Which system was laid; without a completion day the work is under way."""

    system = serializers.CharField(source="system.code")

    class Meta:
        model = Installation
        fields = (
            *ROOF_FACT_FIELDS,
            "system",
            "substrate",
            "started_on",
            "completed_on",
        )


class InstallationViewSet(FactViewSet):
    """Installations."""

    table = Installation
    entry_kind = "installation"
    serializer_class = InstallationOut
    filterset_class = FactFilters
    bodies = {"create": InstallationIn}

    def fact(self, body: dict[str, object], roof: Roof) -> Installation:
        """Return the installation."""
        system = named(systems(), body.pop("system"), "system", by="code")
        body.setdefault("completed_on", None)
        return installation(system=system, **body)  # type: ignore[arg-type]  # shape checked


class EntryOut(Out):
    """One link. The payload is the text whose hash the chain holds."""

    payload = serializers.SerializerMethodField()

    class Meta:
        model = LedgerEntry
        fields = (
            "seq",
            "kind",
            "payload",
            "payload_sha256",
            "previous_sha256",
            "entry_sha256",
            "recorded_at",
        )

    def get_payload(self, entry: LedgerEntry) -> str | None:
        """Canonical JSON; null where it tells of another owner's affairs."""
        caller: Caller = self.context["caller"]
        if caller.sees_everything:
            return entry.payload
        records = json.loads(entry.payload)["records"]
        told = all(_is_told(record, caller.owner_uuid) for record in records)
        return entry.payload if told else None


def _is_told(record: dict[str, object], owner_uuid: str) -> bool:
    if record.get("type") == "ownership":
        return record.get("owner") == owner_uuid
    return record.get("type") in TOLD_TO_HOLDERS


class LedgerPages(KeysetPagination):
    """Pages of entries, each with the head of the whole chain."""

    def get_paginated_response_schema(
        self, schema: dict[str, object]
    ) -> dict[str, object]:
        """Return the shape of a page of the ledger."""
        page = super().get_paginated_response_schema(schema)
        head = {
            "type": "object",
            "required": ["seq", "entry_sha256"],
            "properties": {
                "seq": {"type": "integer"},
                "entry_sha256": {"type": "string"},
            },
        }
        properties = {"head": head, **page["properties"]}  # type: ignore[dict-item]  # a mapping
        return {**page, "required": list(properties), "properties": properties}


class LedgerViewSet(Lists, RegisterViewSet):
    """The hash-chained list of everything recorded about one roof, page by page."""

    serializer_class = EntryOut
    pagination_class = LedgerPages
    keyset = ("seq",)
    roof_id = 0
    noun = "ledger-entries"

    def list(self, request: Request, uuid: object) -> Response:
        """Return a page of entries with the head of the chain."""
        self.roof_id = found(roofs_visible_to(self.caller.scope), uuid).pk
        response = super().list(request)
        head = ledger_head(self.roof_id)
        told = {"seq": head.seq, "entry_sha256": head.entry_sha256}
        response.data = {"head": told, **response.data}
        return response

    def get_queryset(self) -> QuerySet[LedgerEntry]:
        """Return the entries of the roof."""
        return entries_visible_to(self.caller.scope, self.roof_id)
