"""Make a fact fit its columns before its hash is taken, or refuse it."""

from __future__ import annotations

from datetime import date
from decimal import Context, Decimal, InvalidOperation
from functools import cache

from django.db import models

from fleet.actions.errors import InvalidValue
from fleet.models import PrivateText, Record

# Older than any coach, later than any promise; the rules count months in between.
EARLIEST_YEAR, LATEST_YEAR = 1930, 2199


def fit_to_columns(fact: Record) -> None:
    """Round numbers to what their columns keep, and refuse what no column takes.

    Databases round halves differently; the ledger and the row must say the same.
    """
    for column in _measured_columns(type(fact)):
        value = getattr(fact, column.name)
        if value is None:
            continue
        places = Decimal(1).scaleb(-column.decimal_places)
        context = Context(prec=column.max_digits)
        try:
            fitted = Decimal(value).quantize(places, context=context)
        except InvalidOperation:
            fitted = Decimal("NaN")
        if not fitted.is_finite():
            raise InvalidValue(
                column.name, f"{value} cannot be right. Check the value and its unit."
            )
        setattr(fact, column.name, fitted)
    for name, longest in _worded_columns(type(fact)):
        _refuse_unwritable(name, getattr(fact, name), longest)
    for text in texts_of(fact):
        _refuse_unwritable("text", text.body, None)


@cache
def _measured_columns(table: type[Record]) -> tuple[models.DecimalField, ...]:
    columns = table._meta.concrete_fields
    return tuple(each for each in columns if isinstance(each, models.DecimalField))


@cache
def _worded_columns(table: type[Record]) -> tuple[tuple[str, int | None], ...]:
    columns = table._meta.concrete_fields
    return tuple(
        (each.name, each.max_length)
        for each in columns
        if isinstance(each, models.CharField)
    )


def _refuse_unwritable(name: str, value: str, longest: int | None) -> None:
    if longest is not None and len(value) > longest:
        raise InvalidValue(
            name, f"{len(value)} characters are too many: use at most {longest}."
        )
    # Half of a surrogate pair has no UTF-8, and PostgreSQL takes no NUL.
    if "\x00" in value or any("\ud800" <= letter <= "\udfff" for letter in value):
        raise InvalidValue(name, "The text has characters that cannot be stored.")


def refuse_implausible_days(fact: Record) -> None:
    """Refuse a day no coach has seen: a slip of the keyboard, and no month after it."""
    for name in fact.ledger_fields:
        value = getattr(fact, name)
        if isinstance(value, date) and not EARLIEST_YEAR <= value.year <= LATEST_YEAR:
            raise InvalidValue(
                name,
                f"The year {value.year} cannot be right. Use a date from "
                f"{EARLIEST_YEAR} to {LATEST_YEAR}.",
            )


def texts_of(fact: Record) -> list[PrivateText]:
    """Return the free texts that a fact names."""
    values = (getattr(fact, name) for name in fact.ledger_fields)
    return [value for value in values if isinstance(value, PrivateText)]
