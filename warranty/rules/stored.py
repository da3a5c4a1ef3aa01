"""The rules' values as plain JSON values and back, so that an answer can be replayed.

What is written follows the dataclasses of the rules. A field added later has a default
there, so that what was stored before still reads.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from enum import StrEnum
from types import NoneType, UnionType
from typing import TypeVar, get_args, get_origin, get_type_hints

Value = TypeVar("Value")


class StoredInputError(ValueError):
    """A stored value does not have the shape its rules expect."""


def plain(value: object) -> object:
    """Return a value of the rules as mappings, lists, texts, whole numbers and null.

    Parameters
    ----------
    value : object
        A dataclass of the rules, a date, an enumerated word, a tuple of such, a text,
        a whole number, a boolean or None.

    Raises
    ------
    StoredInputError
        If a value of another type occurs; a float has no one spelling.
    """
    if isinstance(value, StrEnum):
        return value.value
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple | list):
        return [plain(each) for each in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
    raise StoredInputError(f"value must be one of the rules', got {type(value)}.")


def read(kind: type[Value], stored: object) -> Value:
    """Return the dataclass ``kind`` that `plain` was given.

    Raises
    ------
    StoredInputError
        If the stored value has a field that ``kind`` does not know, or another shape.
    """
    if not isinstance(stored, dict):
        raise StoredInputError(f"{kind.__name__} must be a mapping, got {stored!r}.")
    hints = get_type_hints(kind)
    strange = sorted(set(stored) - set(hints))
    if strange:
        raise StoredInputError(f"{kind.__name__} must not hold {strange}.")
    return kind(**{name: _read(hints[name], each) for name, each in stored.items()})


def _read(hint: object, stored: object) -> object:
    if get_origin(hint) is UnionType:
        if stored is None:
            return None
        [hint] = [each for each in get_args(hint) if each is not NoneType]
    if get_origin(hint) is tuple:
        if not isinstance(stored, list):
            raise StoredInputError(f"a list was expected, got {stored!r}.")
        return tuple(_read(get_args(hint)[0], each) for each in stored)
    if not isinstance(hint, type):
        raise StoredInputError(f"{hint!r} is no type that can be read.")
    if is_dataclass(hint):
        return read(hint, stored)
    if issubclass(hint, StrEnum):
        return hint(str(stored))
    if hint is date:
        return date.fromisoformat(str(stored))
    if not isinstance(stored, hint):
        raise StoredInputError(f"{hint.__name__} was expected, got {stored!r}.")
    return stored
