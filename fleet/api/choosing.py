"""What of a record a caller wants: some members alone, or named records with it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Model, QuerySet
from rest_framework.request import Request
from rest_framework.serializers import BaseSerializer

from fleet.api.errors import InvalidParameters
from fleet.scope import Scope

FIELDS, EXPAND = "fields", "expand"


@dataclass(frozen=True, slots=True, kw_only=True)
class Expansion:
    """A record that may be read with another: which rows a caller may see of it."""

    out: type[BaseSerializer]
    rows: Callable[[Scope], QuerySet]
    # The id of the record on the row that names it; None where it names none.
    key: Callable[[Model], int | None]


def chosen(
    request: Request, parameter: str, allowed: Iterable[str]
) -> tuple[str, ...] | None:
    """Return the words of a comma-separated parameter; None when it was not sent.

    Raises:
        InvalidParameters: a word is not among those allowed here.
    """
    sent = request.query_params.getlist(parameter)
    if not sent:
        return None
    known = tuple(allowed)
    words = dict.fromkeys(word for text in sent for word in text.split(","))
    for word in words:
        if word not in known:
            detail = f"{word[:40]!r} is none of: {', '.join(known)}."
            raise InvalidParameters(
                f"Correct {parameter} in the address.",
                errors=[
                    {
                        "parameter": parameter,
                        "detail": detail,
                        "code": "unknown-word",
                    }
                ],
            )
    return tuple(words)


def only(data: dict[str, object], names: Sequence[str] | None) -> dict[str, object]:
    """Return those members of a record that were asked for."""
    return data if names is None else {name: data[name] for name in names}


def expanded(
    rows: Sequence[Model],
    wanted: Mapping[str, Expansion],
    *,
    scope: Scope,
    context: Mapping[str, object],
) -> list[dict[str, object]]:
    """Return for each row the records asked for with it, one query a kind.

    They are read within the caller's scope: what is not theirs is null.
    """
    found: list[dict[str, object]] = [{} for _ in rows]
    for name, expansion in wanted.items():
        keys = [expansion.key(row) for row in rows]
        named = expansion.rows(scope).filter(pk__in={key for key in keys if key})
        known = {row.pk: expansion.out(row, context=context).data for row in named}
        for told, key in zip(found, keys, strict=True):
            told[name] = known.get(key)
    return found
