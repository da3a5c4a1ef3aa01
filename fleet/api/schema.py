"""How each address describes itself in the OpenAPI document."""

from __future__ import annotations

import re

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse
from rest_framework.serializers import ListSerializer

STATUS_OF_ACTION = {"create": "201"}
VERBS = {
    "list": "list",
    "retrieve": "get",
    "create": "create",
    "partial_update": "change",
}


class RegisterSchema(AutoSchema):
    """Reads bodies, answers and parameters from the view, where the code uses them."""

    @property
    def _action(self) -> str:
        return str(self.view.action)

    def get_operation_id(self) -> str:
        """Return a name that reads well in a generated client: listVisits, getRoof."""
        plural = self._noun_words()
        noun = "".join(word.capitalize() for word in plural)
        verb = VERBS.get(self._action)
        words = self._action.split("_")
        if verb is None and self.method == "GET":
            return "get" + _one(noun) + "".join(word.capitalize() for word in words)
        if verb is None:
            return words[0] + "".join(w.capitalize() for w in words[1:]) + _one(noun)
        return verb + (noun if verb == "list" else _one(noun))

    def get_tags(self) -> list[str]:
        """Return the collection the address belongs to."""
        return [self._first_segment()]

    def get_summary(self) -> str:
        """Return the first line of the action's own docstring."""
        doc = getattr(self.view, self._action).__doc__ or self.view.__doc__ or ""
        return doc.strip().split("\n")[0]

    def get_description(self) -> str:
        """Return what the collection is, from the view's docstring."""
        return " ".join((type(self.view).__doc__ or "").split())

    def get_request_serializer(self) -> object:
        """Return the body that the action takes."""
        return self.view.bodies.get(self._action)

    def get_response_serializers(self) -> object:
        """Return what the action answers, by status."""
        answer = self.view.answers.get(self._action) or self.view.serializer_class
        if isinstance(answer, dict):
            return answer
        if self.view.is_list:
            return {"200": answer(many=True)}
        status = STATUS_OF_ACTION.get(self._action, "200")
        answers = {status: answer}
        if status == "201" and getattr(self.view, "is_idempotent", False):
            known = "It was recorded before under this uuid; nothing is changed."
            answers["200"] = OpenApiResponse(answer, known)
        return answers

    def get_override_parameters(self) -> list[object]:
        """Return the query and header parameters of the action."""
        query = self.view.queries.get(self._action)
        headers = self.view.headers_in.get(self._action, ())
        if self.method == "POST":
            headers = (*headers, IDEMPOTENCY_KEY)
        if self.method == "GET" and IF_NONE_MATCH not in headers:
            headers = (*headers, IF_NONE_MATCH)
        return [*([query] if query else []), *self._choosing(), *headers]

    def is_deprecated(self) -> bool:
        """Return whether the action will go."""
        return self._action in self.view.deprecations

    def _choosing(self) -> list[OpenApiParameter]:
        """Return fields and expand, each with the words it takes here."""
        if not self.view.may_choose or self.method != "GET":
            return []
        told = [_words("fields", self.view.choices(), "Only these members.")]
        if self.view.expansions:
            about = "Records to read with it, in the member expanded."
            told.append(_words("expand", tuple(self.view.expansions), about))
        return told

    def get_filter_backends(self) -> list[object]:
        """Return the filters; only lists have some."""
        return super().get_filter_backends() if self.view.is_list else []

    def _is_list_view(self, serializer: object = None) -> bool:
        is_many = isinstance(serializer, ListSerializer)
        return bool(self.view.is_list) or is_many

    def _get_paginator(self) -> object:
        """Return what pages the answers; only lists are paged."""
        return super()._get_paginator() if self.view.is_list else None

    def _noun_words(self) -> list[str]:
        return (self.view.noun or self._first_segment()).split("-")

    def _first_segment(self) -> str:
        return re.sub(r"^/api/v1/", "", self.path).split("/")[0]


class DecimalInDocument(OpenApiSerializerFieldExtension):
    """How the document describes a decimal: a string that says its limits."""

    target_class = "rest_framework.serializers.DecimalField"
    match_subclasses = True

    def map_serializer_field(
        self, auto_schema: object, direction: str
    ) -> dict[str, object]:
        """Return the shape: digits, places, and no sign where none is taken."""
        field = self.target
        places = field.decimal_places
        whole = max(field.max_digits - places, 1)
        sign = "" if field.min_value is not None and field.min_value >= 0 else "-?"
        pattern = rf"^{sign}\d{{1,{whole}}}(?:\.\d{{1,{places}}})?$"
        if sign == "" and field.max_value == 1:
            pattern = rf"^(?:0(?:\.\d{{1,{places}}})?|1(?:\.0{{1,{places}}})?)$"
        told: dict[str, object] = {
            "type": "string",
            "format": "decimal",
            "pattern": pattern,
        }
        if direction == "request":
            # A number is taken too; its limits are its own words.
            told["type"] = ["string", "number"]
            for name in ("min_value", "max_value"):
                limit = getattr(field, name)
                if limit is not None:
                    told[f"{name[:3]}imum"] = int(limit)
        return told


IF_MATCH = OpenApiParameter(
    name="If-Match",
    location=OpenApiParameter.HEADER,
    required=True,
    type=str,
    description="The ETag of the version that is changed (428 without, 412 if old).",
)
IF_NONE_MATCH = OpenApiParameter(
    name="If-None-Match",
    location=OpenApiParameter.HEADER,
    required=False,
    type=str,
    description="An ETag read before: 304 when the record has not changed.",
)
IDEMPOTENCY_KEY = OpenApiParameter(
    name="Idempotency-Key",
    location=OpenApiParameter.HEADER,
    required=False,
    type=str,
    description=(
        "Made up by the client, one a request: sent again it has no second effect and "
        "gets the first answer, marked Idempotency-Replayed. Kept for seven days."
    ),
)


def _words(name: str, words: tuple[str, ...], about: str) -> OpenApiParameter:
    """Return a parameter that takes some of these words, separated by commas."""
    return OpenApiParameter(
        name=name,
        location=OpenApiParameter.QUERY,
        required=False,
        type={
            "type": "array",
            "items": {"type": "string", "enum": list(words)},
            "minItems": 1,
        },
        style="form",
        explode=False,
        description=about,
    )


def _one(plural: str) -> str:
    """Return the singular of a noun of this API."""
    for ending, singular in (("Coaches", "Coach"), ("ies", "y"), ("s", "")):
        if plural.endswith(ending):
            return plural.removesuffix(ending) + singular
    return plural
