"""How the later work is doing, lane by lane."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import RegisterViewSet
from fleet.api.caller import Permit
from fleet.api.shape import PlainOut
from jobs.models import Lane, Run
from jobs.selectors import later_work_summary, runs_visible_to


class LaneOut(PlainOut):
    """One lane. ``waiting`` is due now, ``planned`` later."""

    lane = serializers.ChoiceField(Lane.choices)
    waiting = serializers.IntegerField()
    planned = serializers.IntegerField()
    running = serializers.IntegerField()
    set_aside = serializers.IntegerField()
    oldest_waiting_s = serializers.FloatField()
    beat_age_s = serializers.FloatField(
        allow_null=True, help_text="Since somebody was last seen at this lane."
    )
    is_alive = serializers.BooleanField()


class LaterWorkOut(PlainOut):
    """What waits, runs and was set aside."""

    lanes = LaneOut(many=True)


class LaterWorkViewSet(RegisterViewSet):
    """Later work as a whole; its runs are at /runs."""

    serializer_class = LaterWorkOut
    noun = "later work"
    permits = {"retrieve": Permit.OFFICE}

    def get_queryset(self) -> QuerySet[Run]:
        """Return the runs in the caller's scope."""
        return runs_visible_to(self.caller.scope)

    def retrieve(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Return how each lane is doing."""
        return self.answer(later_work_summary(self.caller.now))
