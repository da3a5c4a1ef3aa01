"""Read the members of a phone's operation: each checked, none trusted."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from uuid import UUID

from fleet.actions.errors import InvalidValue

DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
NUMBER = re.compile(r"-?\d{1,12}(\.\d{1,12})?", re.ASCII)
YEARS = range(1930, 2200)
WHOLE_MAX = 32_767
PLACE_DECIMALS = 4


def json_object(raw: bytes) -> dict[str, object] | None:
    """Return the JSON object that the bytes spell, or None when they spell none.

    A member that stands twice, NaN and infinities are no JSON (RFC 8259, 4 and 6).
    """
    try:
        value = json.loads(
            raw.decode("utf-8"),
            parse_float=Decimal,
            parse_constant=_refused,
            object_pairs_hook=_once_each,
        )
    except (ValueError, RecursionError, InvalidOperation):
        return None
    return value if isinstance(value, dict) else None


def _refused(word: str) -> object:
    raise ValueError(f"{word} is no number")


def _once_each(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) < len(pairs):
        raise ValueError("a member stands twice")
    return members


class Members:
    """The members of one JSON object. What nobody read is unknown."""

    def __init__(self, given: Mapping[str, object], at: str = "") -> None:
        """Keep the members and where they stand."""
        self._given = given
        self._at = at
        self._read: set[str] = set()
        self._inner: list[Members] = []

    def text(
        self, name: str, *, longest: int, default: str | None = None, shortest: int = 0
    ) -> str:
        """Return a text within its length."""
        value = self._take(name)
        if value is None and default is not None:
            return default
        if not isinstance(value, str):
            raise self.refusal(name, "must be a text")
        if not shortest <= len(value) <= longest:
            raise self.refusal(name, f"must have {shortest} to {longest} characters")
        if "\x00" in value or not _is_unicode(value):
            raise self.refusal(name, "has characters that no text has")
        return value

    def uuid(self, name: str) -> UUID:
        """Return a UUID."""
        value = self.optional_uuid(name)
        if value is None:
            raise self.refusal(name, "must be a UUID")
        return value

    def optional_uuid(self, name: str) -> UUID | None:
        """Return a UUID, or none."""
        value = self._take(name)
        if value is None:
            return None
        try:
            return UUID(value) if isinstance(value, str) and len(value) == 36 else _no()
        except ValueError:
            raise self.refusal(name, "must be a UUID") from None

    def told_uuid(self, name: str) -> UUID | None:
        """Return a UUID, or none also where something else stands."""
        with suppress(InvalidValue):
            return self.optional_uuid(name)
        return None

    def day(self, name: str) -> date:
        """Return a date."""
        value = self.optional_day(name)
        if value is None:
            raise self.refusal(name, "must be a date, as in 2026-05-04")
        return value

    def optional_day(self, name: str) -> date | None:
        """Return a date, or none."""
        value = self._take(name)
        if value is None:
            return None
        try:
            found = date.fromisoformat(value) if _spells(DAY, value) else _no()
        except ValueError:
            raise self.refusal(name, "must be a date, as in 2026-05-04") from None
        return found

    def instant(self, name: str) -> datetime:
        """Return a moment with its offset."""
        value = self._take(name)
        try:
            found = datetime.fromisoformat(value) if isinstance(value, str) else _no()
            if found.utcoffset() is None or found.year not in YEARS:
                raise ValueError
        except ValueError:
            raise self.refusal(
                name, "must be a time with its offset, as in 2026-05-04T09:30:00-04:00"
            ) from None
        return found

    def decimal(self, name: str) -> Decimal:
        """Return a number, sent as one or as a text."""
        value = self.optional_decimal(name)
        if value is None:
            raise self.refusal(name, "must be a number")
        return value

    def optional_decimal(self, name: str) -> Decimal | None:
        """Return a number, or none."""
        value = self._take(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
            raise self.refusal(name, "must be a number")
        spelled = f"{value:f}" if isinstance(value, Decimal) else str(value)
        if not NUMBER.fullmatch(spelled):
            raise self.refusal(name, "must be a number of usual size")
        return Decimal(spelled)

    def place(self) -> tuple[Decimal | None, Decimal | None]:
        """Return where on the plan: both or neither, to a tenth of a millimetre."""
        x_m, y_m = self.optional_decimal("x_m"), self.optional_decimal("y_m")
        if x_m is None or y_m is None:
            if x_m is not y_m:
                raise self.refusal("x_m", "needs y_m beside it, and y_m needs it")
            return None, None
        if min(x_m, y_m) < 0 or max(x_m, y_m) > 100:
            raise self.refusal("x_m", "and y_m are measured from cap and gutter, in m")
        return round(x_m, PLACE_DECIMALS), round(y_m, PLACE_DECIMALS)

    def whole(self, name: str) -> int:
        """Return a whole number from 0."""
        value = self.optional_whole(name)
        if value is None:
            raise self.refusal(name, "must be a whole number")
        return value

    def optional_whole(self, name: str) -> int | None:
        """Return a whole number from 0, or none."""
        value = self._take(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.refusal(name, "must be a whole number")
        if not 0 <= value <= WHOLE_MAX:
            raise self.refusal(name, f"must be from 0 to {WHOLE_MAX}")
        return value

    def yes(self, name: str, *, otherwise: bool | None = None) -> bool:
        """Return whether something is so."""
        value = self._take(name)
        if value is None and otherwise is not None:
            return otherwise
        if not isinstance(value, bool):
            raise self.refusal(name, "must be true or false")
        return value

    def choice(
        self, name: str, words: list[str], *, otherwise: str | None = None
    ) -> str:
        """Return one of these words."""
        value = self._take(name)
        if value in (None, "") and otherwise is not None:
            return otherwise
        if not isinstance(value, str) or value not in words:
            raise self.refusal(name, f"must be one of {', '.join(words)}")
        return value

    def inner(self, name: str) -> Members:
        """Return the object under a name."""
        value = self._take(name)
        if not isinstance(value, dict):
            raise self.refusal(name, "must be an object")
        return self._within(value, f"{self._at}{name}.")

    def inner_list(self, name: str, *, most: int) -> Iterator[Members]:
        """Yield the objects of a list with at least one."""
        values = self._take(name)
        if not isinstance(values, list) or not 1 <= len(values) <= most:
            raise self.refusal(name, f"must be a list of 1 to {most} objects")
        for index, value in enumerate(values):
            if not isinstance(value, dict):
                raise self.refusal(f"{name}[{index}]", "must be an object")
            yield self._within(value, f"{self._at}{name}[{index}].")

    def has(self, name: str) -> bool:
        """Return whether a member is there and says something."""
        return self._given.get(name) is not None

    def unknown(self) -> list[str]:
        """Return the members that nobody read, each with where it stands."""
        own = [f"{self._at}{name}" for name in self._given if name not in self._read]
        return own + [name for inner in self._inner for name in inner.unknown()]

    def refusal(self, name: str, what: str) -> InvalidValue:
        """Return the refusal of one member."""
        return InvalidValue(f"{self._at}{name}", f"{self._at}{name} {what}.")

    def _take(self, name: str) -> object:
        self._read.add(name)
        return self._given.get(name)

    def _within(self, value: dict[str, object], at: str) -> Members:
        inner = Members(value, at)
        self._inner.append(inner)
        return inner


def _no() -> UUID | date | datetime:
    raise ValueError


def _spells(pattern: re.Pattern[str], value: object) -> bool:
    return isinstance(value, str) and pattern.fullmatch(value) is not None


def _is_unicode(value: str) -> bool:
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True
