"""What a roof's promise is worth on a day, and how it came to that."""

from __future__ import annotations

from datetime import date, datetime

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet
from fleet.api.roofs import KnownAtQuery
from fleet.api.shape import DayField, In, Out, PlainOut
from fleet.civil import office_day
from fleet.models import Roof
from fleet.selectors.scopes import roofs_visible_to
from warranty.models import Standing
from warranty.rules.clause import Clause, Verdict
from warranty.rules.clause import Standing as StandingWord
from warranty.selectors.explanations import RoofExplanation, course_of
from warranty.selectors.lists import in_place, inspections_due, roofs_with_standing
from warranty.selectors.told import explanation_told_to

STANDING_CHOICES = [(word.value, word.value) for word in StandingWord]
VERDICT_CHOICES = [(word.value, word.value) for word in Verdict]
CLAUSE_CHOICES = [(clause.value, clause.value) for clause in Clause]
# What a list of standings tells, and the columns it stands in.
STANDING_COLUMNS = {
    "roof": "uuid",
    "coach": "coach__uuid",
    "unit_no": "coach__unit_no",
    "vin": "coach__vin",
    "roof_no": "roof_no",
    "holder": "coach__holder__uuid",
    "completed_on": "completed_on",
    "edition": "coverage__edition__code",
    "standing": "standing__word",
    "next_due_on": "standing__next_due_on",
    "holds_until": "standing__holds_until",
    "assessed_on": "standing__as_of",
}
NO_TERMS = "No terms are assigned to this roof, so nothing is promised yet."


class StandingQuery(KnownAtQuery):
    """On which day, and as known at which moment; today and now when not given."""

    as_of = DayField(required=False)


class ClauseOut(PlainOut):
    """One clause's answer."""

    clause = serializers.ChoiceField(CLAUSE_CHOICES)
    number = serializers.CharField(help_text="In the printed terms.")
    verdict = serializers.ChoiceField(VERDICT_CHOICES)
    waived = serializers.BooleanField()
    because = serializers.CharField()
    cure = serializers.CharField(help_text="Empty when it is met.")
    holds_until = serializers.DateField(allow_null=True)
    evidence = serializers.ListField(child=serializers.CharField())


class StandingOut(PlainOut):
    """The standing of one roof, explained clause by clause."""

    roof = serializers.UUIDField()
    as_of = serializers.DateField()
    known_at = serializers.DateTimeField()
    standing = serializers.ChoiceField(STANDING_CHOICES)
    because = serializers.CharField(help_text="Why there are no clauses, if none.")
    edition = serializers.CharField(allow_null=True, help_text="The edition's code.")
    next_due_on = serializers.DateField(
        allow_null=True, help_text="The next inspection; empty once it has ended."
    )
    holds_until = serializers.DateField(allow_null=True)
    clauses = ClauseOut(many=True)


class PeriodOut(PlainOut):
    """Days of one standing, both ends included; without an end it stays so."""

    from_on = serializers.DateField()
    until_on = serializers.DateField(allow_null=True)
    standing = serializers.ChoiceField(STANDING_CHOICES)


class CourseOut(PlainOut):
    """The standing from completion to two years ahead, as the records are."""

    roof = serializers.UUIDField()
    known_at = serializers.DateTimeField()
    periods = PeriodOut(many=True)


class RoofStandingViewSet(RegisterViewSet):
    """The promise of one roof: its standing on a day, and its course through time."""

    serializer_class = StandingOut
    queries = {"standing": StandingQuery, "history": KnownAtQuery}
    answers = {"standing": StandingOut, "history": CourseOut}

    def get_queryset(self) -> QuerySet[Roof]:
        """Return the roofs in the caller's scope."""
        return roofs_visible_to(self.caller.scope)

    def standing(self, request: Request, uuid: object) -> Response:
        """Return what the promise is worth, with every clause explained."""
        query, now = self.query(request), self.caller.now
        as_of: date = query.get("as_of", office_day(now))  # type: ignore[assignment]  # a day
        known_at: datetime = query.get("known_at", now)  # type: ignore[assignment]  # a moment
        roof: Roof = self.get_object()  # type: ignore[assignment]  # a Roof
        told = explanation_told_to(
            self.caller.scope, roof.pk, as_of=as_of, known_at=known_at
        )
        return self.answer(standing_body(roof, told, as_of=as_of, known_at=known_at))

    def history(self, request: Request, uuid: object) -> Response:
        """Return the periods of each standing."""
        known_at: datetime = self.query(request).get("known_at", self.caller.now)  # type: ignore[assignment]  # a moment
        roof: Roof = self.get_object()  # type: ignore[assignment]  # a Roof
        today = office_day(self.caller.now)
        told = explanation_told_to(
            self.caller.scope, roof.pk, as_of=today, known_at=known_at
        )
        periods = course_of(told, as_of=today) if told else ()
        return self.answer(
            {"roof": roof.uuid, "known_at": known_at, "periods": periods}
        )


def standing_body(
    roof: Roof, told: RoofExplanation | None, *, as_of: date, known_at: datetime
) -> dict[str, object]:
    """Return the members of one standing."""
    if told is None:
        answer: dict[str, object] = {
            "standing": StandingWord.PENDING,
            "because": NO_TERMS,
            "edition": None,
            "next_due_on": None,
            "holds_until": None,
            "clauses": (),
        }
    else:
        explained = told.explanation
        ended = explained.standing is StandingWord.ENDED
        answer = {
            "standing": explained.standing,
            "because": "",
            "edition": told.terms.code,
            "next_due_on": None if ended else explained.next_due_on,
            "holds_until": explained.holds_until,
            "clauses": explained.results,
        }
    return {"roof": roof.uuid, "as_of": as_of, "known_at": known_at, **answer}


class RoofStandingOut(Out):
    """One roof and what its promise is worth by the last look at it."""

    roof = serializers.UUIDField()
    coach = serializers.UUIDField()
    unit_no = serializers.CharField()
    vin = serializers.CharField()
    roof_no = serializers.IntegerField()
    holder = serializers.UUIDField(allow_null=True)
    completed_on = serializers.DateField(allow_null=True)
    edition = serializers.CharField(allow_null=True)
    standing = serializers.ChoiceField(
        STANDING_CHOICES, allow_null=True, help_text="Null: nothing is promised."
    )
    next_due_on = serializers.DateField(allow_null=True)
    holds_until = serializers.DateField(allow_null=True)
    assessed_on = serializers.DateField(allow_null=True)

    class Meta:
        model = Roof
        fields = tuple(STANDING_COLUMNS)


class StandingFilters(django_filters.FilterSet):
    """What standings can be narrowed by."""

    standing = django_filters.ChoiceFilter(
        field_name="standing__word", choices=STANDING_CHOICES
    )
    due_from = django_filters.DateFilter(
        field_name="standing__next_due_on", lookup_expr="gte"
    )
    due_to = django_filters.DateFilter(
        field_name="standing__next_due_on", lookup_expr="lte"
    )
    unit_no = django_filters.CharFilter(field_name="coach__unit_no")
    vin = django_filters.CharFilter(field_name="coach__vin")
    holder = django_filters.UUIDFilter(field_name="coach__holder__uuid")
    town = django_filters.CharFilter(field_name="coach__town", lookup_expr="icontains")


class StandingViewSet(Lists, RegisterViewSet):
    """Roofs with their standings, as the register last looked at each.

    One of them on any day, explained clause by clause, is at the roof's own standing.
    """

    serializer_class = RoofStandingOut
    filterset_class = StandingFilters

    def get_queryset(self) -> QuerySet[Roof]:
        """Return the columns of the roofs in the caller's scope."""
        return roofs_with_standing(self.caller.scope)

    def list(self, request: Request) -> Response:
        """Return a page of roofs with their standings."""
        rows = self.filter_queryset(self.get_queryset())
        page = self.paginate_queryset(rows.values(*STANDING_COLUMNS.values(), "pk"))
        return self.get_paginated_response(
            [
                {name: row[column] for name, column in STANDING_COLUMNS.items()}
                for row in page
            ]
        )


class DueQuery(In):
    """Which days and where; both days included."""

    place = serializers.CharField(
        required=False, max_length=80, help_text="Part of a town, or a whole state."
    )

    def get_fields(self) -> dict[str, serializers.Field]:
        """Return the parameters; two have names that Python keeps for itself."""
        days = {
            "from": DayField(source="from_on", required=False),
            "to": DayField(source="to_on", required=False),
        }
        return {**days, **super().get_fields()}


class DueOut(Out):
    """One inspection that is due."""

    roof = serializers.UUIDField(source="roof.uuid")
    coach = serializers.UUIDField(source="roof.coach.uuid")
    unit_no = serializers.CharField(source="roof.coach.unit_no")
    town = serializers.CharField(source="roof.coach.town")
    state = serializers.CharField(source="roof.coach.state")
    due_on = serializers.DateField(source="next_due_on")
    standing = serializers.ChoiceField(STANDING_CHOICES, source="word")
    edition = serializers.CharField(source="roof.coverage.edition.code")
    assessed_on = serializers.DateField(source="as_of")

    class Meta:
        model = Standing
        fields = (
            "roof",
            "coach",
            "unit_no",
            "town",
            "state",
            "due_on",
            "standing",
            "holds_until",
            "edition",
            "assessed_on",
        )


class InspectionsDueViewSet(Lists, RegisterViewSet):
    """Inspections that are due, in the order of their day, unless the promise ended."""

    serializer_class = DueOut
    keyset = ("next_due_on", "roof__coach__unit_no", "roof_id")
    queries = {"list": DueQuery}

    def get_queryset(self) -> QuerySet[Standing]:
        """Return the due inspections in the caller's scope."""
        return inspections_due(self.caller.scope)

    def filter_queryset(self, queryset: QuerySet[Standing]) -> QuerySet[Standing]:
        """Return those of the days and the place asked for."""
        query = self.query(self.request)
        rows = in_place(queryset, str(query.get("place", "")))
        if "from_on" in query:
            rows = rows.filter(next_due_on__gte=query["from_on"])
        if "to_on" in query:
            rows = rows.filter(next_due_on__lte=query["to_on"])
        return rows
