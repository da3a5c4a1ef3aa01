"""Workbooks: checked, then brought in; each a run with a report."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.parsers import BaseParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import Lists, RegisterViewSet
from fleet.api.caller import Permit
from fleet.api.shape import In, PlainOut
from jobs.api.runs import RunOut, accepted, watched
from jobs.imports import KIND, MODES, commit_checked, report_of, request_import
from jobs.models import Run
from jobs.selectors import runs_visible_to


class ImportIn(In):
    """A zip of the CSV files, or one XLSX workbook, and what to do with it."""

    file = serializers.FileField()
    mode = serializers.ChoiceField(MODES)


class SheetCountOut(PlainOut):
    """What became of one sheet's rows."""

    new = serializers.IntegerField()
    unchanged = serializers.IntegerField()
    corrected = serializers.IntegerField()
    repeated = serializers.IntegerField()
    refused = serializers.IntegerField()
    warnings = serializers.IntegerField()


class ImportReportOut(PlainOut):
    """What a check found, or a commit did. Lists are cut, counts are not."""

    committed = serializers.BooleanField()
    facts = serializers.IntegerField()
    sheets = serializers.DictField(child=SheetCountOut())
    refused_count = serializers.IntegerField()
    refused = serializers.ListField(child=serializers.DictField())
    warnings_count = serializers.IntegerField()
    warnings = serializers.ListField(child=serializers.DictField())
    corrections_count = serializers.IntegerField()
    corrections = serializers.ListField(child=serializers.DictField())


class ImportViewSet(Lists, RegisterViewSet):
    """Imports of workbooks. First a check, then the very same file is committed."""

    serializer_class = RunOut
    keyset = ("-pk",)
    permits = {
        "list": Permit.OFFICE,
        "retrieve": Permit.OFFICE,
        "create": Permit.OFFICE,
        "commit": Permit.OFFICE,
        "report": Permit.OFFICE,
    }
    bodies = {"create": ImportIn}
    answers = {
        "create": {"202": RunOut},
        "commit": {"202": RunOut},
        "report": ImportReportOut,
    }

    def get_queryset(self) -> QuerySet[Run]:
        """Return the imports: only the office comes here."""
        return runs_visible_to(self.caller.scope).filter(kind=KIND)

    def get_parsers(self) -> list[BaseParser]:
        """Take a form with a file where a workbook is sent."""
        is_upload = getattr(self, "action_map", {}).get("post") == "create"
        return [MultiPartParser()] if is_upload else super().get_parsers()

    def create(self, request: Request) -> Response:
        """Send a workbook to be checked, or to be brought in."""
        body = self.body(request)
        file = body["file"]
        run = request_import(
            chunks=file.chunks(),  # type: ignore[attr-defined]  # an upload
            file_name=str(file.name),  # type: ignore[attr-defined]  # an upload
            mode=str(body["mode"]),
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return accepted(self, run)

    def retrieve(self, request: Request, uuid: object) -> Response:
        """Return one import and how far it is."""
        return watched(self, self.get_object())  # type: ignore[arg-type]  # a Run

    def commit(self, request: Request, uuid: object) -> Response:
        """Bring in the very workbook that a finished check has looked at."""
        run = commit_checked(
            run=self.get_object(),  # type: ignore[arg-type]  # a Run
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
        )
        return accepted(self, run)

    def report(self, request: Request, uuid: object) -> Response:
        """Return what a finished import found: counts, refused rows, corrections."""
        return Response(report_of(self.get_object()))  # type: ignore[arg-type]  # a Run
