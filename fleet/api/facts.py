"""Facts about roofs: read within the scope, recorded once, corrected by new rows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

import django_filters
from django.db.models import Model, QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.roofs import record
from fleet.api.base import Lists, RegisterViewSet, found
from fleet.api.batch import one_by_one
from fleet.api.caller import Caller, Permit
from fleet.api.filters import TruthFilter
from fleet.api.shape import In, Out
from fleet.api.tables import CsvBatchParser
from fleet.civil import office_day
from fleet.errors import NotAllowed
from fleet.models import PrivateText, Record, Roof, RoofFact
from fleet.selectors.lists import facts_visible_to, held_since
from fleet.selectors.scopes import roofs_visible_to

# More entries than any roof's ledger will have.
ENTRY_MAX = 1_000_000_000
FACT_FIELDS = (
    "uuid",
    "supersedes",
    "is_void",
    "settles",
    "is_corrected",
    "recorded_at",
    "recorded_by",
)
ROOF_FACT_FIELDS = (*FACT_FIELDS, "roof", "entry_seq")


class RecordIn(In):
    """What any fact may say about itself."""

    uuid = serializers.UUIDField(
        required=False, help_text="Made by the client; the same again is the same."
    )
    supersedes = serializers.UUIDField(
        required=False, help_text="The record that this one corrects."
    )
    is_void = serializers.BooleanField(
        required=False, help_text="Strikes the corrected record, replaces it by none."
    )
    settles = serializers.BooleanField(
        required=False, help_text="The office's word between two corrections."
    )

    def validate(self, attrs: dict[str, object]) -> dict[str, object]:
        """Refuse to strike or settle nothing."""
        for name in ("is_void", "settles"):
            if attrs.get(name) and "supersedes" not in attrs:
                raise ValidationError(
                    {"supersedes": ["Name the record that this one corrects."]},
                    "required",
                )
        checked: dict[str, object] = super().validate(attrs)
        return checked


class FactIn(RecordIn):
    """A fact about one roof."""

    roof = serializers.UUIDField()


class RecordedBy(serializers.CharField):
    """Who recorded it; an earlier owner's people stay unnamed to the next owner."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(allow_null=True, **kwargs)

    def to_representation(self, value: object) -> str | None:
        """Return the person's name where the caller may know it."""
        caller: Caller = self.context["caller"]
        owner_id = value.owner_id  # type: ignore[attr-defined]  # a User
        foreign = owner_id is not None and owner_id not in caller.scope.owner_ids
        return None if foreign and not caller.sees_everything else str(value)


class ToldText(serializers.CharField):
    """A free text, told to an owner only from the day they hold the coach."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(allow_null=True, **kwargs)

    def get_attribute(self, instance: Record) -> str | None:
        """Return the text where the caller may read it."""
        text: PrivateText | None = getattr(instance, self.source)
        return str(text) if text and may_read(instance, self.context) else None


def may_read(fact: Record, context: dict[str, object]) -> bool:
    """Return whether a fact's free text was written in the caller's own time."""
    since: dict[int, date] | None = context["held_since"]  # type: ignore[assignment]  # set by the view
    if since is None:
        return True
    start = since.get(coach_of(fact))
    told_on: date = getattr(fact, "happened_on", None) or office_day(fact.recorded_at)
    return start is not None and told_on >= start


def coach_of(fact: Record) -> int:
    """Return the id of the coach that a fact is about."""
    roof: Roof | None = getattr(fact, "roof", None)
    coach_id: int = roof.coach_id if roof else fact.coach_id  # type: ignore[attr-defined]  # a CoachFact
    return coach_id


class FactOut(Out):
    """A fact about one roof, with its place in the ledger."""

    roof = serializers.UUIDField(source="roof.uuid")
    entry_seq = serializers.IntegerField(source="entry.seq")
    is_corrected = serializers.SerializerMethodField()
    recorded_by = RecordedBy()

    def get_is_corrected(self, fact: Record) -> bool:
        """Whether a later record names this one."""
        return bool(getattr(fact, "is_corrected", False))


class RecordFilters(django_filters.FilterSet):
    """What any list of records can be narrowed by."""

    recorded_after = django_filters.IsoDateTimeFilter(
        field_name="recorded_at", lookup_expr="gt"
    )
    is_corrected = TruthFilter()


@extend_schema_field({"type": "integer", "minimum": 0, "maximum": ENTRY_MAX})
class EntryFilter(django_filters.NumberFilter):
    """From which entry of a roof's ledger on."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(min_value=0, max_value=ENTRY_MAX, **kwargs)


class FactFilters(RecordFilters):
    """What any list of facts about roofs can be narrowed by."""

    roof = django_filters.UUIDFilter(field_name="roof__uuid")
    coach = django_filters.UUIDFilter(field_name="roof__coach__uuid")
    entry_from = EntryFilter(field_name="entry__seq", lookup_expr="gte")


class DayFilters(FactFilters):
    """Facts of days, both ends included."""

    from_on = django_filters.DateFilter(field_name="happened_on", lookup_expr="gte")
    to_on = django_filters.DateFilter(field_name="happened_on", lookup_expr="lte")


class FactViewSet(Lists, RegisterViewSet):
    """Facts of one kind. Nothing is changed or deleted: corrections are new rows."""

    table: type[RoofFact]
    entry_kind: str
    filterset_class: type[FactFilters] = DayFilters
    is_idempotent = True
    permits = {"create": Permit.RECORD, "create_batch": Permit.RECORD}

    def get_parsers(self) -> list[BaseParser]:
        """Take a batch as CSV too."""
        is_batch = getattr(self, "action_map", {}).get("post") == "create_batch"
        offered: list[BaseParser] = super().get_parsers()
        return [*offered, CsvBatchParser()] if is_batch else offered

    def get_queryset(self) -> QuerySet[RoofFact]:
        """Return the facts in the caller's scope."""
        return facts_visible_to(self.table, self.caller.scope)

    def page_context(self, page: list[Model]) -> dict[str, object]:
        """Know from which day the caller holds the coaches of a page."""
        return self.told(page)

    def told(self, facts: Iterable[Record]) -> dict[str, object]:
        """Return what texts the caller may read of these facts."""
        coach_ids = {coach_of(fact) for fact in facts}
        return {"held_since": held_since(coach_ids, self.caller.scope)}

    def answer(
        self, row: object, *, status: int = 200, headers: dict[str, str] | None = None
    ) -> Response:
        """Return one fact as it is told to the caller."""
        context = self.get_serializer_context() | self.told([row])  # type: ignore[list-item]  # a Record
        data = self.serializer_class(row, context=context).data
        return Response(data, status, headers=headers)

    def create(self, request: Request) -> Response:
        """Record one fact about a roof; the same uuid and body again answer 200."""
        return self.recorded_from(self.body(request))

    def create_batch(self, request: Request) -> Response:
        """Record many facts at once; each is recorded or refused by itself."""
        items = self.body(request)["items"]
        return one_by_one(request, items, self._recorded_alone)  # type: ignore[arg-type]  # a list

    def _recorded_alone(self, item: Mapping[str, object]) -> Response:
        return self.recorded_from(self.checked("create", item))

    def recorded_from(self, body: dict[str, object]) -> Response:
        """Record the fact that a checked body tells."""
        roof = self.roof(body.pop("roof"))
        fact = self.made(body, roof)
        [kept] = record(
            roof=roof,
            kind=self.entry_kind,
            facts=[fact],
            by=self.caller.user,
            now=self.caller.now,
            scope=self.caller.scope.record_scope,
        )
        return self.recorded(kept, is_new=kept is fact)

    def roof(self, uuid: object) -> Roof:
        """Return the roof that a body names, if the caller may see it."""
        roof: Roof = found(roofs_visible_to(self.caller.scope), uuid)  # type: ignore[assignment]  # a Roof
        return roof

    def made(self, body: dict[str, object], roof: Roof) -> RoofFact:
        """Return the fact that a body tells, with the marks of a correction."""
        marks = correction_marks(body, self.caller)
        fact = self.fact(body, roof)
        mark(fact, marks)
        return fact

    def fact(self, body: dict[str, object], roof: Roof) -> RoofFact:
        """Return the unsaved fact; each kind says how."""
        raise NotImplementedError

    def recorded(self, kept: Record, *, is_new: bool) -> Response:
        """Answer a recorded fact: 201 when new, 200 when it was on record."""
        collection = self.request.path.removesuffix("/batch")
        address = f"{collection}/{kept.uuid}"
        return self.answer(
            kept, status=201 if is_new else 200, headers={"Location": address}
        )


def correction_marks(body: dict[str, object], caller: Caller) -> dict[str, bool]:
    """Take the marks that only some may set out of a body.

    Raises:
        NotAllowed: an owner corrects, or somebody but the office settles.
    """
    marks = {name: bool(body.pop(name, False)) for name in ("is_void", "settles")}
    if body.get("supersedes") and not caller.scope.may_write_records:
        raise NotAllowed("Only the office corrects a record. Tell the office.")
    if marks["settles"] and not caller.scope.may_run_office:
        raise NotAllowed("Only the office settles between corrections. Ask the office.")
    return marks


def mark(fact: Record, marks: dict[str, bool]) -> None:
    """Set the marks of a correction on an unsaved fact."""
    fact.is_void, fact.settles = marks["is_void"], marks["settles"]
