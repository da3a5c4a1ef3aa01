"""What an edition would change: asked for, and read when its run is done."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import RegisterViewSet, found, named
from fleet.api.caller import Permit
from fleet.api.shape import DayField, In, PlainOut
from fleet.civil import office_day
from fleet.errors import NotFound
from fleet.selectors.scopes import owners_visible_to
from jobs.api.runs import RunOut, accepted
from jobs.models import Run
from jobs.selectors import runs_visible_to
from jobs.what_if import KIND, report_of, request_what_if
from warranty.rules.clause import Clause, Standing
from warranty.selectors.editions import editions_visible_to

STANDING_CHOICES = [(word.value, word.value) for word in Standing]
CLAUSE_CHOICES = [(word.value, word.value) for word in Clause]
VERDICT_CHOICES = [(w, w) for w in ("MET", "NOT_MET", "UNKNOWN", "NOT_IN_EDITION")]


class WhatIfIn(In):
    """Whose roofs to replay, and for which day; empty: every roof, today."""

    owner = serializers.UUIDField(required=False)
    as_of = DayField(required=False)


def _moves(choices: list[tuple[str, str]]) -> dict[str, serializers.Field]:
    # "from" is a word of the language, so the fields cannot be attributes.
    return {
        "from": serializers.ChoiceField(choices),
        "to": serializers.ChoiceField(choices),
    }


class StandingMoveOut(PlainOut):
    """How many roofs go from one standing to another."""

    roofs = serializers.IntegerField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """Return the move, then how many."""
        return {**_moves(STANDING_CHOICES), **super().get_fields()}


class ClauseMoveOut(PlainOut):
    """How many roofs get another result for a clause."""

    clause = serializers.ChoiceField(CLAUSE_CHOICES)
    roofs = serializers.IntegerField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """Return the move with its clause."""
        return {**_moves(VERDICT_CHOICES), **super().get_fields()}


class ClauseChangeOut(PlainOut):
    """One clause's result on one roof, now and then."""

    clause = serializers.ChoiceField(CLAUSE_CHOICES)

    def get_fields(self) -> dict[str, serializers.Field]:
        """Return the move with its clause."""
        return {**_moves(VERDICT_CHOICES), **super().get_fields()}


class ChangedRoofOut(PlainOut):
    """One roof that would change."""

    roof = serializers.UUIDField()
    unit_no = serializers.CharField()
    clauses = ClauseChangeOut(many=True)

    def get_fields(self) -> dict[str, serializers.Field]:
        """Return the move with its roof."""
        return {**_moves(STANDING_CHOICES), **super().get_fields()}


class WhatIfOut(PlainOut):
    """What an edition would change. Nothing was touched."""

    edition = serializers.UUIDField()
    code = serializers.CharField()
    version = serializers.IntegerField()
    owner = serializers.UUIDField(allow_null=True)
    as_of = serializers.DateField()
    known_at = serializers.DateTimeField()
    roofs = serializers.IntegerField()
    changed = serializers.IntegerField()
    standings = StandingMoveOut(many=True)
    clauses = ClauseMoveOut(many=True)
    changed_roofs = ChangedRoofOut(many=True, help_text="The first 500.")


class WhatIfViewSet(RegisterViewSet):
    """Replays of an edition over promised roofs."""

    serializer_class = RunOut
    noun = "what-ifs"
    permits = {"create": Permit.OFFICE, "retrieve": Permit.OFFICE}
    bodies = {"create": WhatIfIn}
    answers = {"create": {"202": RunOut}, "retrieve": WhatIfOut}

    def get_queryset(self) -> QuerySet[Run]:
        """Return the replays that were asked for."""
        return runs_visible_to(self.caller.scope).filter(kind=KIND)

    def create(self, request: Request, uuid: object) -> Response:
        """Ask what this edition would change; the run tells how far it is."""
        scope, body = self.caller.scope, self.body(request)
        edition = found(editions_visible_to(scope), uuid)
        owner = None
        if "owner" in body:
            owner = named(owners_visible_to(scope), body["owner"], "owner")
        run = request_what_if(
            edition=edition,  # type: ignore[arg-type]  # an Edition
            owner=owner,  # type: ignore[arg-type]  # an Owner
            as_of=body.get("as_of") or office_day(self.caller.now),  # type: ignore[arg-type]  # a day
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return accepted(self, run)

    def retrieve(self, request: Request, uuid: object) -> Response:
        """Return what a finished replay found."""
        report = report_of(self.get_object())  # type: ignore[arg-type]  # a Run
        if report is None:
            raise NotFound("The replay has no report yet. Look at its run.")
        return Response(report)
