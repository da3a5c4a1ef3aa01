"""A phone's saved queue, brought by the office when the phone could not send it."""

from __future__ import annotations

from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.field_queue import take_queue_file
from fleet.api.base import RegisterViewSet
from fleet.api.caller import Permit
from fleet.api.shape import In, PlainOut


class QueueFileIn(In):
    """The JSON file that the field page saved."""

    file = serializers.FileField()


class TakenOut(PlainOut):
    """What became of one operation or photo."""

    what = serializers.ChoiceField(["operation", "photo"])
    id = serializers.CharField()
    kind = serializers.CharField(help_text="Of an operation; else empty.")
    verdict = serializers.CharField(
        help_text="As its phone would have been told; RECEIVED for a photo, REFUSED "
        "for what is only in the file still."
    )
    reason = serializers.CharField()


class TakenQueueOut(PlainOut):
    """What became of a saved queue."""

    device = serializers.UUIDField(source="device.uuid")
    made_at = serializers.CharField()
    is_all_here = serializers.BooleanField()
    cut = serializers.CharField(
        help_text="Empty, or why the file was not read to its end."
    )
    items = TakenOut(many=True)


class QueueFileViewSet(RegisterViewSet):
    """Files of phones that could not send. Taken in again, nothing changes."""

    parser_classes = (MultiPartParser,)
    is_idempotent = True
    permits = {"create": Permit.OFFICE}
    bodies = {"create": QueueFileIn}
    answers = {"create": TakenQueueOut}

    def create(self, request: Request) -> Response:
        """Take in what a phone saved, item by item."""
        file = self.body(request)["file"]
        taken = take_queue_file(
            file=file,  # type: ignore[arg-type]  # an upload
            size_bytes=file.size,  # type: ignore[attr-defined]  # an upload
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return Response(TakenQueueOut(taken).data)
