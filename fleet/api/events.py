"""The feed of changes: a mirror that follows it misses none and sees none twice."""

from __future__ import annotations

from urllib.parse import urlencode

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.events import number_for_office
from fleet.api.base import RegisterViewSet
from fleet.api.shape import In, Out, PlainOut
from fleet.models import Event, EventKind
from fleet.selectors.events import events_after

PAGE_SIZE = 100
PAGE_SIZE_MAX = 1000
# Far beyond what any register counts to, and inside what both databases hold.
POSITION_MAX = 10**18


class EventsQuery(In):
    """Behind which position, how many, and of which kind."""

    after = serializers.IntegerField(
        min_value=0,
        max_value=POSITION_MAX,
        required=False,
        default=0,
        help_text="The last position that was read; 0 begins at the beginning.",
    )
    page_size = serializers.IntegerField(
        min_value=1, max_value=PAGE_SIZE_MAX, required=False, default=PAGE_SIZE
    )
    kind = serializers.ChoiceField(EventKind.choices, required=False)


class EventOut(Out):
    """One change: what kind, and which record to read again."""

    position = serializers.IntegerField(
        source="at", help_text="Without gaps, in the order of the commits."
    )
    kind = serializers.ChoiceField(EventKind.choices)
    subject = serializers.UUIDField(help_text="Of the record that changed.")
    coach = serializers.UUIDField(source="coach.uuid")
    roof = serializers.UUIDField(source="roof.uuid", default=None, allow_null=True)
    detail = serializers.CharField(
        help_text="The collection to read again; of a standing its word; of a coach "
        "held, left or merged."
    )
    entry_seq = serializers.IntegerField(
        allow_null=True, help_text="The first entry of the roof's ledger that tells it."
    )

    class Meta:
        model = Event
        fields = (
            "position",
            "kind",
            "subject",
            "coach",
            "roof",
            "detail",
            "entry_seq",
            "recorded_at",
        )


class EventsOut(PlainOut):
    """A page of changes. Ask again behind ``after``; empty means: nothing new."""

    after = serializers.IntegerField(help_text="To be sent as after next time.")
    has_more = serializers.BooleanField(help_text="Whether more wait right now.")
    results = EventOut(many=True)


class EventViewSet(RegisterViewSet):
    """What changed, in the order of the commits. A fleet's manager has the stream of
    its own coaches and claims; office and technicians have one of everything."""

    serializer_class = EventOut
    queries = {"list": EventsQuery}
    answers = {"list": EventsOut}

    @property
    def is_list(self) -> bool:
        """It pages by position, not by cursor."""
        return False

    def get_queryset(self) -> QuerySet[Event]:
        """Return the events of the caller's stream."""
        return events_after(self.caller.scope, 0)

    def list(self, request: Request) -> Response:
        """Return the changes behind a position, the oldest first."""
        query = self.query(request)
        after, size = int(str(query["after"])), int(str(query["page_size"]))
        if self.caller.sees_everything:
            number_for_office()
        rows = events_after(self.caller.scope, after)
        if "kind" in query:
            rows = rows.filter(kind=query["kind"])
        found = list(rows[: size + 1])
        page, has_more = found[:size], len(found) > size
        if page:
            after = page[-1].at  # type: ignore[attr-defined]  # annotated
        body = EventsOut({"after": after, "has_more": has_more, "results": page}).data
        return Response(body, headers={"Link": self._next(request, after)})

    def _next(self, request: Request, after: int) -> str:
        """Return the address of what comes next: it is worth asking at any time."""
        query = request.query_params.dict() | {"after": after}
        address = request.build_absolute_uri(request.path)
        return f'<{address}?{urlencode(query)}>; rel="next"'
