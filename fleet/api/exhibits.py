"""Exhibits: sent in once, looked at as small copies, originals for the staff."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from uuid import UUID

import django_filters
from django.db.models import Model, QuerySet
from django.http import FileResponse, HttpResponse, HttpResponseNotModified
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet import store
from fleet.actions.exhibits import Showing, note_check
from fleet.actions.tray import assign_from_tray, leave_out_of_tray
from fleet.api.base import Lists, RegisterViewSet, entity_tags, found, named
from fleet.api.caller import Caller, Permit
from fleet.api.facts import FACT_FIELDS, FactOut, RecordFilters
from fleet.api.receiving import ReceivedField, ReceivingParser
from fleet.api.shape import In, MomentField, Out, PlainOut, decimal, word
from fleet.errors import DomainError
from fleet.exhibits.clocks import ClockDoubt
from fleet.exhibits.limits import SCREEN_EDGE_PX, THUMBNAIL_EDGE_PX
from fleet.exhibits.matching import parsed_place
from fleet.exhibits.sniff import MediaType
from fleet.models import (
    Damage,
    Exhibit,
    ExhibitKind,
    Finding,
    Look,
    Roof,
    SignerRole,
    StoredFile,
    TrayPhoto,
    TrayState,
    Visit,
)
from fleet.selectors.exhibits import (
    exhibits_visible_to,
    file_of,
    files_of,
    seen_elsewhere,
    tray_photos,
)
from fleet.selectors.lists import facts_visible_to
from fleet.selectors.scopes import roofs_visible_to
from jobs.exhibits import take_in

logger = logging.getLogger(__name__)

CAPTION_LENGTH = 2000
# An original is whatever its sender made it: it may not run, frame or load anything.
SEALED = "default-src 'none'; sandbox"


class NoPicture(DomainError):
    """There is no small copy to look at."""

    code = "no-picture"
    http_status = 404


class ExhibitIn(In):
    """One file and what it shows."""

    file = ReceivedField()
    roof = serializers.UUIDField()
    visit = serializers.UUIDField(required=False)
    finding = serializers.UUIDField(required=False)
    claim = serializers.UUIDField(required=False)
    kind = serializers.ChoiceField(ExhibitKind.choices, required=False)
    penetration_label = word(80)
    caption = word(CAPTION_LENGTH)
    device_at = MomentField(
        required=False, help_text="When the device took it, by its own clock."
    )
    x_m = decimal(7, 4, low=0, required=False)
    y_m = decimal(7, 4, low=0, required=False)
    after_of = serializers.UUIDField(
        required=False,
        help_text="The exhibit that shows the same place before the work.",
    )
    signer_role = serializers.ChoiceField(
        SignerRole.choices, required=False, help_text="Of a sign-off."
    )
    sha256 = serializers.RegexField(
        r"^[0-9a-fA-F]{64}$",
        required=False,
        help_text="The sender's own hash: a file that arrives otherwise is refused.",
    )


class StaffText(serializers.CharField):
    """A text that owners are not told: it may speak of an earlier one."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(allow_null=True, **kwargs)

    def get_attribute(self, instance: Exhibit) -> str | None:
        """Return the text for those who see everything."""
        caller: Caller = self.context["caller"]
        text = getattr(instance, self.source)
        return str(text) if text is not None and caller.sees_everything else None


class ExhibitOut(FactOut):
    """One photo or file, its clocks side by side, and how its bytes are."""

    visit = serializers.UUIDField(source="visit.uuid", default=None, allow_null=True)
    finding = serializers.UUIDField(
        source="finding.uuid", default=None, allow_null=True
    )
    caption = StaffText()
    latitude = serializers.SerializerMethodField()
    longitude = serializers.SerializerMethodField()
    received_at = serializers.DateTimeField(source="recorded_at")
    clock_doubts = serializers.ListField(
        child=serializers.ChoiceField([(word.value, word.value) for word in ClockDoubt])
    )
    look = serializers.SerializerMethodField()
    damage = serializers.SerializerMethodField()

    class Meta:
        model = Exhibit
        fields = (
            *FACT_FIELDS,
            "roof",
            "entry_seq",
            "kind",
            "media_type",
            "size_bytes",
            "sha256",
            "visit",
            "finding",
            "claim",
            "penetration_label",
            "caption",
            "taken_local",
            "taken_offset_min",
            "taken_at",
            "latitude",
            "longitude",
            "device_at",
            "device_offset_min",
            "received_at",
            "clock_doubts",
            "matched_by",
            "x_m",
            "y_m",
            "after_of",
            "signer_role",
            "look",
            "damage",
        )

    def get_latitude(self, exhibit: Exhibit) -> str | None:
        """Where it was taken, north positive, for the staff."""
        return self._place(exhibit, 0)

    def get_longitude(self, exhibit: Exhibit) -> str | None:
        """Where it was taken, east positive, for the staff."""
        return self._place(exhibit, 1)

    def get_look(self, exhibit: Exhibit) -> str:
        """Whether there are small copies to look at."""
        file = self._file(exhibit)
        return str(file.look) if file else Look.PENDING.value

    def get_damage(self, exhibit: Exhibit) -> str:
        """Empty, or how the stored original was found at its last check."""
        file = self._file(exhibit)
        return str(file.damage) if file else Damage.GONE.value

    def _file(self, exhibit: Exhibit) -> StoredFile | None:
        files: dict[str, StoredFile] = self.context["files"]
        return files.get(exhibit.sha256)

    def _place(self, exhibit: Exhibit, axis: int) -> str | None:
        caller: Caller = self.context["caller"]
        if exhibit.place is None or not caller.sees_everything:
            return None
        place = parsed_place(exhibit.place.body)
        return None if place is None else str(place[axis])


class SeenElsewhereOut(PlainOut):
    """Another exhibit that is or looks like this one: a hint, never a finding."""

    exhibit = serializers.UUIDField(source="exhibit.uuid")
    roof = serializers.UUIDField(source="exhibit.roof.uuid")
    claim = serializers.UUIDField(source="exhibit.claim", allow_null=True)
    distance = serializers.IntegerField(help_text="Differing bits of 64; 0 is alike.")
    is_same_file = serializers.BooleanField()


class HintsOut(PlainOut):
    """Where else an exhibit was seen, the likeliest first."""

    results = SeenElsewhereOut(many=True)


class ExhibitFilters(RecordFilters):
    """What exhibits can be narrowed by."""

    is_corrected = None
    roof = django_filters.UUIDFilter(field_name="roof__uuid")
    coach = django_filters.UUIDFilter(field_name="roof__coach__uuid")
    visit = django_filters.UUIDFilter(field_name="visit__uuid")
    finding = django_filters.UUIDFilter(field_name="finding__uuid")
    claim = django_filters.UUIDFilter()
    sha256 = django_filters.CharFilter()
    kind = django_filters.ChoiceFilter(choices=ExhibitKind.choices)


class ExhibitViewSet(Lists, RegisterViewSet):
    """Photos and files, put under a uuid of the sender's; the same again is one."""

    serializer_class = ExhibitOut
    filterset_class = ExhibitFilters
    parser_classes = (ReceivingParser,)
    is_idempotent = True
    bodies = {"receive": ExhibitIn}
    answers = {
        "receive": {"201": ExhibitOut, "200": ExhibitOut},
        "original": {(200, "application/octet-stream"): OpenApiTypes.BINARY},
        "screen": {(200, "image/jpeg"): OpenApiTypes.BINARY},
        "thumbnail": {(200, "image/jpeg"): OpenApiTypes.BINARY},
        "seen_elsewhere": HintsOut,
    }
    permits = {
        "receive": Permit.RECORD,
        "original": Permit.STAFF,
        "seen_elsewhere": Permit.STAFF,
    }

    def get_queryset(self) -> QuerySet[Exhibit]:
        """Return the exhibits in the caller's scope."""
        return exhibits_visible_to(self.caller.scope)

    def page_context(self, page: list[Model]) -> dict[str, object]:
        """Know how the bytes of a page's exhibits are."""
        return self._told(page)  # type: ignore[arg-type]  # exhibits

    def answer(
        self, row: object, *, status: int = 200, headers: dict[str, str] | None = None
    ) -> Response:
        """Return one exhibit."""
        context = self.get_serializer_context() | self._told([row])  # type: ignore[list-item]  # an Exhibit
        return Response(ExhibitOut(row, context=context).data, status, headers=headers)

    def receive(self, request: Request, uuid: UUID) -> Response:
        """Receive one file; the same uuid, file and facts again answer 200."""
        body = self.body(request)
        scope = self.caller.scope
        roof: Roof = named(roofs_visible_to(scope), body.pop("roof"), "roof")  # type: ignore[assignment]  # a Roof
        for member, table in (("visit", Visit), ("finding", Finding)):
            if body.get(member):
                rows = facts_visible_to(table, scope).filter(roof=roof)
                body[member] = named(rows, body[member], member)
        exhibit, is_new = take_in(
            body.pop("file"),  # type: ignore[arg-type]  # an Incoming
            roof=roof,
            by=self.caller.user,
            now=self.caller.now,
            uuid=uuid,
            scope=scope.record_scope,
            expected_sha256=str(body.pop("sha256", "")),
            showing=Showing(**body),  # type: ignore[arg-type]  # shape checked
        )
        return self.answer(exhibit, status=201 if is_new else 200)

    def original(self, request: Request, uuid: UUID) -> HttpResponse:
        """Return the original bytes, checked, as a file to be saved."""
        exhibit: Exhibit = found(self.get_queryset(), uuid)  # type: ignore[assignment]  # an Exhibit
        logger.info(
            "The original of exhibit %s goes to %s.", uuid, self.caller.user.uuid
        )
        response = self._file(request, exhibit.sha256, exhibit.media_type)
        suffix = MediaType(exhibit.media_type).suffix
        response.headers["Content-Disposition"] = (
            f'attachment; filename="exhibit-{uuid}{suffix}"'
        )
        return response

    def screen(self, request: Request, uuid: UUID) -> HttpResponse:
        """Return an upright copy of at most 1600 px, without metadata."""
        return self._copy(request, uuid, SCREEN_EDGE_PX)

    def thumbnail(self, request: Request, uuid: UUID) -> HttpResponse:
        """Return an upright copy of at most 320 px, without metadata."""
        return self._copy(request, uuid, THUMBNAIL_EDGE_PX)

    def seen_elsewhere(self, request: Request, uuid: UUID) -> Response:
        """Return exhibits of other roofs or claims that are or look the same."""
        exhibit: Exhibit = found(self.get_queryset(), uuid)  # type: ignore[assignment]  # an Exhibit
        return Response(HintsOut({"results": seen_elsewhere(exhibit)}).data)

    def _copy(self, request: Request, uuid: UUID, edge_px: int) -> HttpResponse:
        exhibit: Exhibit = found(self.get_queryset(), uuid)  # type: ignore[assignment]  # an Exhibit
        file = files_of([exhibit.sha256]).get(exhibit.sha256)
        copies = file.derivatives.all() if file else ()
        copy = next((copy for copy in copies if copy.edge_px == edge_px), None)
        if copy is None:
            look = Look(file.look).label if file else Look.PENDING.label
            raise NoPicture(f"There is no picture to show: {look}. Look again later.")
        return self._file(request, copy.sha256, MediaType.JPEG.value)

    def _file(self, request: Request, digest: str, media_type: str) -> HttpResponse:
        tag = f'"{digest}"'
        if tag in entity_tags(request.headers.get("If-None-Match", "")):
            response: HttpResponse = HttpResponseNotModified()
        else:
            response = FileResponse(self._opened(digest), content_type=media_type)
        response.headers["ETag"] = tag
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Content-Security-Policy"] = SEALED
        return response

    def _opened(self, digest: str) -> object:
        try:
            return store.opened(digest)
        except (store.FileGone, store.FileDamaged) as error:
            row = file_of(digest)
            if row is not None and row.damage == Damage.ERASED:
                raise store.FileErased(digest) from None
            logger.error("File %s cannot be served: %s", digest, error.message)
            if row is not None:
                is_gone = isinstance(error, store.FileGone)
                damage = Damage.GONE if is_gone else Damage.DAMAGED
                note_check(row, damage=damage, now=self.caller.now)
            raise

    def _told(self, exhibits: Iterable[Exhibit]) -> dict[str, object]:
        return {"files": files_of(exhibit.sha256 for exhibit in exhibits)}


class AssignIn(In):
    """The visit that a waiting photo belongs to."""

    visit = serializers.UUIDField()


class TrayPhotoOut(Out):
    """An old photo that waits for the office to say where it belongs."""

    sha256 = serializers.CharField(source="file.sha256")
    size_bytes = serializers.IntegerField(source="file.size_bytes")
    media_type = serializers.CharField(source="file.media_type")
    exhibit = serializers.UUIDField(
        source="exhibit.uuid", default=None, allow_null=True
    )

    class Meta:
        model = TrayPhoto
        fields = (
            "uuid",
            "sha256",
            "size_bytes",
            "media_type",
            "file_name",
            "reason",
            "taken_local",
            "taken_offset_min",
            "state",
            "added_at",
            "settled_at",
            "exhibit",
        )


class TrayPhotoFilters(django_filters.FilterSet):
    """What the tray can be narrowed by."""

    state = django_filters.ChoiceFilter(choices=TrayState.choices)


class TrayPhotoViewSet(Lists, RegisterViewSet):
    """Old photos that no visit could be found for."""

    serializer_class = TrayPhotoOut
    filterset_class = TrayPhotoFilters
    bodies = {"assign": AssignIn}
    permits = {
        "list": Permit.STAFF,
        "retrieve": Permit.STAFF,
        "assign": Permit.OFFICE,
        "leave_out": Permit.OFFICE,
    }

    def get_queryset(self) -> QuerySet[TrayPhoto]:
        """Return the tray, for those who see everything."""
        rows = tray_photos()
        return rows if self.caller.sees_everything else rows.none()

    def assign(self, request: Request, uuid: UUID) -> Response:
        """Record a waiting photo as an exhibit of a visit."""
        visit_id = self.body(request)["visit"]
        visits = facts_visible_to(Visit, self.caller.scope)
        visit: Visit = named(visits, visit_id, "visit")  # type: ignore[assignment]  # a Visit
        photo: TrayPhoto = found(self.get_queryset(), uuid)  # type: ignore[assignment]  # a TrayPhoto
        assign_from_tray(
            photo=photo, visit=visit, by=self.caller.user, now=self.caller.now
        )
        return self.answer(found(self.get_queryset(), uuid))

    def leave_out(self, request: Request, uuid: UUID) -> Response:
        """Set a waiting photo aside: it belongs to no visit."""
        photo: TrayPhoto = found(self.get_queryset(), uuid)  # type: ignore[assignment]  # a TrayPhoto
        leave_out_of_tray(photo=photo, by=self.caller.user, now=self.caller.now)
        return self.answer(found(self.get_queryset(), uuid))
