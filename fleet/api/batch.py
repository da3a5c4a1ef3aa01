"""Many records in one request: each is recorded or refused by itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from http import HTTPStatus

from django.db import IntegrityError, transaction
from rest_framework import serializers
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.actions.recording import told_once
from fleet.api.errors import problem_response
from fleet.api.shape import In, PlainOut
from fleet.errors import DomainError

BATCH_ITEMS = 500


class BatchIn(In):
    """Bodies as the collection takes them one by one."""

    items = serializers.ListField(
        child=serializers.DictField(),
        min_length=1,
        max_length=BATCH_ITEMS,
        help_text="Each is checked by itself: a wrong one is told of in its place.",
    )


class BatchItemOut(PlainOut):
    """What became of one item."""

    place = serializers.IntegerField(help_text="In the order they were sent, from 0.")
    status = serializers.IntegerField(help_text="What it alone would be answered.")
    record = serializers.DictField(allow_null=True, help_text="Null: refused.")
    problem = serializers.DictField(allow_null=True, help_text="Null: recorded.")


class BatchOut(PlainOut):
    """What became of each item, in the order they were sent."""

    recorded = serializers.IntegerField()
    refused = serializers.IntegerField()
    results = BatchItemOut(many=True)


def one_by_one(
    request: Request,
    items: list[object],
    act: Callable[[Mapping[str, object]], Response],
) -> Response:
    """Answer a batch: all that can be recorded is, in one commit."""
    results: list[dict[str, object]] = []
    with told_once():
        for place, item in enumerate(items):
            told = _one(request, item, act)  # type: ignore[arg-type]  # shape checked
            is_refused = told.status_code >= HTTPStatus.BAD_REQUEST
            results.append(
                {
                    "place": place,
                    "status": told.status_code,
                    "record": None if is_refused else told.data,
                    "problem": told.data if is_refused else None,
                }
            )
    refused = sum(result["record"] is None for result in results)
    body = {
        "recorded": len(results) - refused,
        "refused": refused,
        "results": results,
    }
    return Response(body, HTTPStatus.MULTI_STATUS)


def _one(
    request: Request,
    item: Mapping[str, object],
    act: Callable[[Mapping[str, object]], Response],
) -> Response:
    try:
        with transaction.atomic():
            return act(item)
    except (APIException, DomainError, IntegrityError) as refusal:
        told = problem_response(refusal, {"request": request})
        if told is None:
            raise
        return told
