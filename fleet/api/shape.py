"""What bodies and answers have in common: strict in, complete out."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2199, 12, 31)
INT_MAX = 2_147_483_647
SMALL_INT_MAX = 32_767


# In JSON a value has a type: what a form's text may be read as, a body must be.
_TYPES: tuple[tuple[type[serializers.Field], tuple[type, ...], str], ...] = (
    (serializers.BooleanField, (bool,), "Send true or false."),
    (serializers.IntegerField, (int, float), "A whole number is required."),
    (serializers.CharField, (str,), "Not a valid string."),
    (serializers.UUIDField, (str,), "Must be a valid UUID."),
    (serializers.ChoiceField, (str,), "Send one of the words as a string."),
)
STRICT = "is_json"


def refuse_other_types(field: serializers.Field, value: object) -> None:
    """Refuse a value of a JSON type that the field does not name.

    Raises:
        ValidationError: it is of another type.
    """
    if value is None:
        return
    if isinstance(field, serializers.ListField) and isinstance(value, list):
        for place, item in enumerate(value):
            try:
                refuse_other_types(field.child, item)
            except ValidationError as error:
                raise ValidationError({place: error.detail}) from None
        return
    for kind, types, sentence in _TYPES:
        if isinstance(field, kind):
            is_number = isinstance(value, bool) and bool not in types
            if is_number or not isinstance(value, types):
                raise ValidationError([sentence], "invalid-type")
            return


class In(serializers.Serializer):
    """The shape of a body. It refuses members it does not know; it writes nothing."""

    def to_internal_value(self, data: object) -> dict[str, object]:
        """Return the checked members."""
        errors: dict[str, object] = {}
        if isinstance(data, Mapping):
            for name in sorted(map(str, set(data) - set(self.fields))):
                errors[name] = [
                    ErrorDetail("This member is not known here.", "unknown-member")
                ]
        if isinstance(data, Mapping) and self.context.get(STRICT):
            errors |= self._of_other_types(data)
        try:
            value: dict[str, object] = super().to_internal_value(data)
        except ValidationError as error:
            raise ValidationError({**error.detail, **errors}) from None
        if errors:
            raise ValidationError(errors)
        return value

    def _of_other_types(self, data: Mapping[str, object]) -> dict[str, object]:
        errors: dict[str, object] = {}
        for name, field in self.fields.items():
            try:
                refuse_other_types(field, data.get(name))
            except ValidationError as error:
                errors[name] = error.detail
        return errors


class Out(serializers.ModelSerializer):
    """What an answer tells of a row: every member is always there."""

    def get_fields(self) -> dict[str, serializers.Field]:
        """Return the fields, all of them required in the document."""
        fields = super().get_fields()
        for field in fields.values():
            field.read_only, field.required = False, True
        return fields


class PlainOut(serializers.Serializer):
    """An answer that is made of values, not of one row."""


class DayField(serializers.DateField):
    """A civil date that calendars here can reckon with."""

    def to_internal_value(self, value: object) -> date:
        """Return the date, refused when no coach can have it."""
        day: date = super().to_internal_value(value)
        if not FIRST_DAY <= day <= LAST_DAY:
            raise ValidationError(
                f"Dates lie between {FIRST_DAY} and {LAST_DAY}.", code="out-of-range"
            )
        return day


class MomentField(serializers.DateTimeField):
    """An instant with its offset, kept as it was written."""

    def enforce_timezone(self, value: object) -> object:
        """Refuse a time that does not say where it was read."""
        if getattr(value, "tzinfo", None) is None:
            raise ValidationError(
                "The time needs its offset, as in 2026-05-04T09:30:00-04:00.",
                code="offset-missing",
            )
        if not FIRST_DAY.year < value.year <= LAST_DAY.year:  # type: ignore[attr-defined]  # a datetime
            raise ValidationError(
                f"Times lie between {FIRST_DAY} and {LAST_DAY}.", code="out-of-range"
            )
        return value


def decimal(
    digits: int, places: int, *, low: int | None = None, required: bool = True
) -> serializers.DecimalField:
    """Return the field of a decimal: a string (or number) in, a string out."""
    return serializers.DecimalField(
        digits, places, min_value=low, required=required, allow_null=not required
    )


def word(length: int, *, required: bool = False) -> serializers.CharField:
    """Return the field of one line of text."""
    return serializers.CharField(
        max_length=length, required=required, allow_blank=not required
    )


def count(*, high: int = SMALL_INT_MAX, required: bool = True) -> object:
    """Return the field of a number that counts from one."""
    return serializers.IntegerField(min_value=1, max_value=high, required=required)
