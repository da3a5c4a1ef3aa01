"""Runs: pieces of later work and how far they are."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet
from fleet.api.caller import Caller, Permit
from fleet.api.shape import Out
from jobs.models import UNFINISHED, Run, RunState
from jobs.runs import retry
from jobs.selectors import runs_visible_to

RETRY_AFTER_S = "2"


class RunOut(Out):
    """A piece of later work. ``result`` holds the ids of what it made."""

    result = serializers.DictField()
    problem = serializers.SerializerMethodField()

    class Meta:
        model = Run
        fields = (
            "uuid",
            "kind",
            "state",
            "progress_done",
            "progress_total",
            "progress_note",
            "result",
            "problem",
            "created_at",
            "finished_at",
        )

    def get_problem(self, run: Run) -> str:
        """Why it was set aside; its inner words are for the office."""
        if run.state != RunState.DEAD:
            return ""
        caller: Caller = self.context["caller"]
        if caller.scope.may_run_office:
            return run.last_error
        return "It was set aside. Ask the office."


class RunFilters(django_filters.FilterSet):
    """What runs can be narrowed by."""

    kind = django_filters.CharFilter()
    state = django_filters.ChoiceFilter(choices=RunState.choices)


class RunViewSet(Lists, RegisterViewSet):
    """Runs, the newest first. Ask again after the seconds that Retry-After names."""

    serializer_class = RunOut
    filterset_class = RunFilters
    keyset = ("-pk",)
    permits = {"retry": Permit.OFFICE}
    answers = {"retry": {"202": RunOut}}

    def get_queryset(self) -> QuerySet[Run]:
        """Return the runs in the caller's scope."""
        return runs_visible_to(self.caller.scope)

    def retrieve(self, request: Request, uuid: object) -> Response:
        """Return one run and how far it is."""
        return watched(self, self.get_object())  # type: ignore[arg-type]  # a Run

    def retry(self, request: Request, uuid: object) -> Response:
        """Try a run again that was set aside."""
        run: Run = self.get_object()  # type: ignore[assignment]  # a Run
        return accepted(self, retry(run, now=self.caller.now))


def watched(view: RegisterViewSet, run: Run) -> Response:
    """Answer a run, with the seconds to wait while it is not finished."""
    is_open = run.state in UNFINISHED
    headers = {"Retry-After": RETRY_AFTER_S} if is_open else None
    return view.answer(run, headers=headers)


def accepted(view: RegisterViewSet, run: Run) -> Response:
    """Answer 202 with the address at which the run is watched."""
    headers = {"Location": f"/api/v1/runs/{run.uuid}", "Retry-After": RETRY_AFTER_S}
    data = RunOut(run, context=view.get_serializer_context()).data
    return Response(data, 202, headers=headers)
