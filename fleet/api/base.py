"""What every address of the API does the same way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import ClassVar

import django_filters
from django.db import transaction
from django.db.models import Model, QuerySet
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.utils.cache import patch_vary_headers
from django_filters.rest_framework import DjangoFilterBackend
from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import ValidationError
from rest_framework.permissions import IsAuthenticated
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer
from rest_framework.views import APIView
from rest_framework.viewsets import GenericViewSet

from fleet.api.caller import NOBODY, Caller, Permit
from fleet.api.choosing import EXPAND, FIELDS, Expansion, chosen, expanded, only
from fleet.api.conditions import (
    answer_unchanged,
    changed_meanwhile,
    entity_tags,
    etag_of,
    require_match,
)
from fleet.api.deprecation import Deprecation, announce
from fleet.api.errors import InvalidParameters, UnknownParameter, pointed
from fleet.api.once import key_of, once
from fleet.api.paging import KeysetPagination
from fleet.api.parsing import StrictJSONParser
from fleet.api.rates import Quota, quota_of
from fleet.api.rendering import FastJSONRenderer
from fleet.api.schema import RegisterSchema
from fleet.api.shape import STRICT, In
from fleet.api.sign_in import SIGN_INS
from fleet.api.tables import CsvRenderer, XlsxRenderer
from fleet.errors import NotFound, RecordConflict
from fleet.selectors.scopes import scope_of

__all__ = [
    "FilterBackend",
    "Lists",
    "RegisterViewSet",
    "Versioned",
    "changed_meanwhile",
    "entity_tags",
    "etag_of",
    "found",
    "named",
    "require_match",
]


class FilterBackend(DjangoFilterBackend):
    """The declared filters of a list; a value they cannot use is a problem."""

    def filter_queryset(
        self, request: Request, queryset: QuerySet, view: APIView
    ) -> QuerySet:
        """Return the rows that pass every filter."""
        try:
            return super().filter_queryset(request, queryset, view)
        except ValidationError as error:
            raise _invalid_parameters(error) from None


class RegisterViewSet(GenericViewSet):
    """Sign-in, scope, permits and parameters, checked before any row is read."""

    schema = RegisterSchema()
    authentication_classes = SIGN_INS
    permission_classes = (IsAuthenticated,)
    parser_classes = (StrictJSONParser,)
    renderer_classes = (FastJSONRenderer,)
    filter_backends = (FilterBackend,)
    pagination_class = KeysetPagination
    metadata_class = None
    lookup_field = "uuid"
    lookup_value_converter = "uuid"

    # Columns a list is ordered by: never null, and the last one unique.
    keyset: tuple[str, ...] = ("pk",)
    # Per action: who may, the body and the parameters it takes, what it answers.
    permits: ClassVar[Mapping[str, Permit]] = {}
    bodies: ClassVar[Mapping[str, type[BaseSerializer]]] = {}
    queries: ClassVar[Mapping[str, type[In]]] = {}
    answers: ClassVar[Mapping[str, object]] = {}
    headers_in: ClassVar[Mapping[str, tuple[OpenApiParameter, ...]]] = {}
    # Records that may be read with this one, and actions that will go.
    expansions: ClassVar[Mapping[str, Expansion]] = {}
    deprecations: ClassVar[Mapping[str, Deprecation]] = {}
    # What these addresses are about, one word or two, for the document.
    noun: str = ""

    caller: Caller = NOBODY
    _is_conditional = False
    _quota: Quota | None = None
    _fields: tuple[str, ...] | None = None
    _expanded: Mapping[str, Expansion] = {}

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        """Know the caller, then refuse what the role or the address does not have."""
        super().initial(request, *args, **kwargs)
        self.caller = Caller(
            user=request.user, scope=scope_of(request.user), now=timezone.now()
        )
        self._quota = quota_of(self.caller.principal, self.caller.now)
        if self._quota is not None:
            self._quota.require()
        self.caller.require(self.permits.get(self.action, Permit.READ))
        self._refuse_unknown_parameters(request)
        if self.is_list:
            self._refuse_empty_filters(request)
        self._choose(request)
        self._act_once(request)

    def finalize_response(
        self, request: Request, response: Response, *args: object, **kwargs: object
    ) -> Response:
        """Keep answers out of shared caches: they differ by caller."""
        response = super().finalize_response(request, response, *args, **kwargs)
        patch_vary_headers(response, ("Authorization", "Cookie"))
        response.headers.setdefault("Cache-Control", "private, no-cache")
        if self._quota is not None:
            for name, value in self._quota.headers.items():
                response.headers[name] = value
        self._prefer(request, response)
        if self.action in self.deprecations:
            announce(response, self.deprecations[self.action])
        if request.method == "GET" and response.status_code == 200:
            answer_unchanged(request, response)
        return response

    def body(self, request: Request) -> dict[str, object]:
        """Return the checked body of this action."""
        return self.checked(self.action, request.data)

    def checked(self, action: str, data: object) -> dict[str, object]:
        """Return data checked as the body of an action."""
        is_json = str(self.request.content_type).startswith("application/json")
        context = self.get_serializer_context() | {STRICT: is_json}
        body = self.bodies[action](data=data, context=context)
        body.is_valid(raise_exception=True)
        return dict(body.validated_data)

    def query(self, request: Request) -> dict[str, object]:
        """Return the checked query parameters of this action."""
        declared = self.queries[self.action]
        names = declared().fields
        given = request.query_params.dict()
        checked = declared(data={k: v for k, v in given.items() if k in names})
        if not checked.is_valid():
            raise _invalid_parameters(ValidationError(checked.errors))
        return dict(checked.validated_data)

    def get_serializer_context(self) -> dict[str, object]:
        """Give the answers the caller, so that they withhold what is not theirs."""
        return {**super().get_serializer_context(), "caller": self.caller}

    def get_object(self) -> Model:
        """Return the row of the address; a foreign one is as missing as a missing.

        A change that names a version with If-Match starts from it or not at all.
        """
        row = found(self.get_queryset(), self.kwargs["uuid"])
        if self._is_conditional:
            # The lock lasts until the change is written: nobody comes between.
            type(row)._default_manager.select_for_update().get(pk=row.pk)
            row = found(self.get_queryset(), self.kwargs["uuid"])
            require_match(self.request, row)
        return row

    def answer(
        self, row: object, *, status: int = 200, headers: dict[str, str] | None = None
    ) -> Response:
        """Return one row as this action's answer."""
        out = self.answers.get(self.action) or self.serializer_class
        data = out(row, context=self.get_serializer_context()).data  # type: ignore[operator]  # a serializer class
        return Response(data, status, headers=headers)

    def retrieve(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Return one record."""
        row = self.get_object()
        return self.chosen_members(row, self.answer(row))

    def known_already(self, row: Model, is_same: object) -> Response:
        """Answer a uuid that was used before: 200 for the same, else 409.

        Raises:
            RecordConflict: it was used for something else.
        """
        if not is_same:
            raise RecordConflict(
                "This id was used before for another record. Send it under a new id."
            )
        return self.answer(row)

    @property
    def may_choose(self) -> bool:
        """Whether this action answers records whose members can be chosen."""
        if not self.action or self.action in self.answers:
            return False
        own = getattr(type(self), self.action, None)
        return own in {Lists.list, RegisterViewSet.retrieve, Versioned.retrieve}

    def choices(self) -> tuple[str, ...]:
        """Return the members that a caller may choose from."""
        return tuple(self.serializer_class().fields)

    def as_asked(
        self, rows: Sequence[Model], data: Sequence[dict[str, object]]
    ) -> list[dict[str, object]]:
        """Return records as they were asked for: some members, others with them."""
        records = [only(dict(item), self._fields) for item in data]
        if self._expanded:
            found = expanded(
                rows,
                self._expanded,
                scope=self.caller.scope,
                context=self.get_serializer_context(),
            )
            for record, more in zip(records, found, strict=True):
                record["expanded"] = more
        return records

    def chosen_members(self, row: Model, response: Response) -> Response:
        """Return the answer with what was asked for of its one record."""
        if self._fields is not None or self._expanded:
            [response.data] = self.as_asked([row], [response.data])
            # The version's tag is of the whole record: these bytes get their own.
            response.headers.pop("ETag", None)
        return response

    def _choose(self, request: Request) -> None:
        if not self.may_choose or request.method != "GET":
            return
        self._fields = chosen(request, FIELDS, self.choices())
        words = chosen(request, EXPAND, self.expansions) or ()
        self._expanded = {word: self.expansions[word] for word in words}

    def _act_once(self, request: Request) -> None:
        """Have a write act once under its key, and only from the version it names."""
        name = str(request.method).lower()
        key = key_of(request) if name == "post" else ""
        self._is_conditional = name != "get" and "If-Match" in request.headers
        if self._is_conditional:
            setattr(self, name, transaction.atomic(getattr(self, name)))
        if key:
            self.post = once(
                self.post,
                request,
                key,
                principal=self.caller.principal,
                now=self.caller.now,
            )

    def _prefer(self, request: Request, response: HttpResponseBase) -> None:
        """Say so where a client preferred to wait elsewhere and it does (RFC 7240)."""
        preferred = request.headers.get("Prefer", "")
        words = {word.strip().lower() for word in preferred.split(",")}
        if "respond-async" in words and response.status_code == HTTPStatus.ACCEPTED:
            response.headers["Preference-Applied"] = "respond-async"

    def _refuse_unknown_parameters(self, request: Request) -> None:
        known = set(self.queries[self.action]().fields) if self._has_query() else set()
        if self.may_choose:
            known |= {FIELDS} | ({EXPAND} if self.expansions else set())
        if self.is_list:
            known |= set(KeysetPagination.parameters)
            filters = getattr(self, "filterset_class", None)
            known |= set(filters.base_filters) if filters else set()
        for name in request.query_params:
            if name not in known:
                raise UnknownParameter(
                    f"This address has no parameter {name[:40]!r}. It has: "
                    f"{', '.join(sorted(known)) or 'none'}.",
                    errors=[
                        {
                            "parameter": name[:40],
                            "detail": "Not known here.",
                            "code": "unknown-parameter",
                        }
                    ],
                )

    def _refuse_empty_filters(self, request: Request) -> None:
        """Refuse a filter without a value: it would be taken for none at all."""
        filters = getattr(self, "filterset_class", None)
        for name, each in filters.base_filters.items() if filters else ():
            is_text = isinstance(each, django_filters.CharFilter)
            if request.query_params.get(name) == "" and not is_text:
                error = {
                    "parameter": name,
                    "detail": "Give it a value or leave it out.",
                    "code": "blank",
                }
                raise InvalidParameters(
                    f"Correct {name} in the address.", errors=[error]
                )

    def _has_query(self) -> bool:
        return self.action in self.queries

    @property
    def is_list(self) -> bool:
        """Whether this action answers a page of rows."""
        return self.action == "list"


class Lists:
    """A collection that can be paged through, and had as a file."""

    def get_renderers(self) -> list[BaseRenderer]:
        """Offer a list as a file too."""
        offered: list[BaseRenderer] = super().get_renderers()  # type: ignore[misc]  # a view
        is_plain = self.action == "list" and self.action not in self.answers  # type: ignore[attr-defined]  # a view
        return [*offered, CsvRenderer(), XlsxRenderer()] if is_plain else offered

    def list(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Return a page of records."""
        rows = self.filter_queryset(self.get_queryset())
        page = self.paginate_queryset(rows)
        context = self.get_serializer_context() | self.page_context(page)
        data = self.serializer_class(page, many=True, context=context).data
        if self._fields is not None or self._expanded:
            data = self.as_asked(page, data)
        return self.get_paginated_response(data)

    def page_context(self, page: list[Model]) -> dict[str, object]:
        """Return what the answers of one page need to know beside its rows."""
        return {}


class Versioned:
    """A record with a version: read with an ETag, changed only against it."""

    def retrieve(self, request: Request, *args: object, **kwargs: object) -> Response:
        """Return one record with its version, or 304 when it has not changed."""
        row = self.get_object()
        tag = etag_of(row)
        is_whole = self._fields is None and not self._expanded
        if is_whole and tag in entity_tags(request.headers.get("If-None-Match", "")):
            return Response(status=304, headers={"ETag": tag})
        response = self.answer(row, headers={"ETag": tag})
        return self.chosen_members(row, response)


def found(rows: QuerySet, uuid: object) -> Model:
    """Return the row with this uuid among those the caller may see.

    Raises:
        NotFound: there is none, or none for this caller.
    """
    row = rows.filter(uuid=uuid).first()
    if row is None:
        raise NotFound("No such record. Check the address and the id.")
    return row


def named(rows: QuerySet, value: object, member: str, *, by: str = "uuid") -> Model:
    """Return the row that a body's member names.

    Raises:
        ValidationError: there is none for this caller; the pointer names the member.
    """
    row = rows.filter(**{by: value}).first()
    if row is None:
        raise ValidationError({member: ["No such record. Check the id."]}, "not-found")
    return row


def _invalid_parameters(error: ValidationError) -> InvalidParameters:
    errors = [
        {
            "parameter": item["pointer"].split("/")[1],
            "detail": item["detail"],
            "code": item["code"],
        }
        for item in pointed(error.detail)
    ]
    names = ", ".join(dict.fromkeys(item["parameter"] for item in errors))
    return InvalidParameters(f"Correct {names} in the address.", errors=errors)
