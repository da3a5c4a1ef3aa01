"""What one cell says: dates, numbers, money, yes and no, as offices write them.

A cell is always text here; spreadsheets' own dates and numbers were written out
before (``warranty.workbook.xlsx``). Nothing is guessed: a cell that can be read in
two ways is refused.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Final

from warranty.workbook.errors import CellError

# Facts outside these years are slips of the hand. Project convention.
FIRST_YEAR: Final = 1950
LAST_YEAR: Final = 2199
MONTHS: Final = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_ISO: Final = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")
_US: Final = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})")
_WORDED: Final = re.compile(r"(\d{1,2})[ .-]+([A-Za-z]+)\.?[ ,-]+(\d{4})")
_NUMBER: Final = re.compile(r"([+-]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|[+-]?\.\d+)")
_MONEY: Final = re.compile(r"(-?)\$?\s*(-?)(\d+|\d{1,3}(?:,\d{3})+)(?:\.(\d+))?")
# A millions of millions of dollars is no estimate for a roof.
_MOST_DIGITS: Final = 12
_YES: Final = frozenset({"yes", "y", "true", "1", "x"})
_NO: Final = frozenset({"no", "n", "false", "0"})
# Spellings of the units that column names carry, casefolded.
UNIT_SPELLINGS: Final[Mapping[str, frozenset[str]]] = {
    "ft": frozenset({"ft", "ft.", "feet", "foot", "'", "\u2032"}),
    "in": frozenset({"in", "in.", "inch", "inches", '"', "\u2033"}),
    "gal": frozenset({"gal", "gal.", "gals", "gallon", "gallons"}),
    "f": frozenset({"f", "\u00b0f", "deg f"}),
    "pct": frozenset({"%", "pct", "percent"}),
    "": frozenset(),
}


def day_of(text: str) -> date:
    """Return the day a cell names: ISO, US month first, or ``12 May 2023``.

    Raises
    ------
    CellError
        ``no-such-date`` where the day does not exist, ``not-a-date`` where the text
        is none, ``date-out-of-range`` outside 1950 to 2199.
    """
    if found := _ISO.fullmatch(text):
        year, month, day = map(int, found.groups())
    elif found := _US.fullmatch(text):
        month, day, year = map(int, found.groups())
    elif found := _WORDED.fullmatch(text):
        day, year = int(found[1]), int(found[3])
        month = _month_of(text, found[2])
    else:
        raise CellError(
            "not-a-date",
            "This is no date we can read for sure. Write it as 2026-05-12, 5/12/2026 "
            "(month first) or 12 May 2026.",
        )
    try:
        read = date(year, month, day)
    except ValueError:
        raise CellError(
            "no-such-date", "There is no such date. Check day and month."
        ) from None
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise CellError(
            "date-out-of-range",
            f"The year must lie from {FIRST_YEAR} to {LAST_YEAR}. Check the year.",
        )
    return read


def _month_of(text: str, word: str) -> int:
    low = word.casefold()
    if len(low) >= 3:
        for number, name in enumerate(MONTHS, start=1):
            if name.startswith(low) or low == "sept" == name[:4]:
                return number
    raise CellError("not-a-date", f"{word!r} is no month. Write it as in 12 May 2026.")


def instant_of(text: str) -> datetime:
    """Return a moment with its offset, as in ``2026-05-04T09:30:00-04:00``.

    Raises
    ------
    CellError
        ``not-a-time`` or ``no-offset``: a local time without offset is no moment.
    """
    try:
        read = datetime.fromisoformat(text)
    except ValueError:
        raise CellError(
            "not-a-time",
            "This is no time we can read. Write it as 2026-05-04T09:30:00-04:00.",
        ) from None
    if read.tzinfo is None:
        raise CellError(
            "no-offset",
            "The time needs its offset from UTC, as in 2026-05-04T09:30:00-04:00.",
        )
    if not FIRST_YEAR <= read.year <= LAST_YEAR:
        raise CellError(
            "date-out-of-range",
            f"The year must lie from {FIRST_YEAR} to {LAST_YEAR}. Check the year.",
        )
    return read


def number_of(text: str, *, unit: str = "") -> Decimal:
    """Return the number a cell holds; the column's own unit may stand behind it.

    Parameters
    ----------
    text : str
        Such as ``33``, ``1,240.5`` or, in a column of feet, ``33 ft``.
    unit : str
        The unit the column's name carries, a key of ``UNIT_SPELLINGS``.

    Raises
    ------
    CellError
        ``not-a-number`` or, with another unit behind the number, ``other-unit``.
    """
    found = _NUMBER.match(text)
    rest = text[found.end() :].strip().casefold() if found else ""
    if found is None or (rest and rest[0] in "0123456789.,+-"):
        raise CellError("not-a-number", "This is no number. Write it as in 1240.5.")
    if rest and rest not in UNIT_SPELLINGS[unit]:
        wanted = f"in {unit}" if unit else "without a unit"
        raise CellError(
            "other-unit", f"This column holds numbers {wanted}; got {rest!r} behind it."
        )
    value = Decimal(found[1].replace(",", ""))
    if len(value.as_tuple().digits) > _MOST_DIGITS or abs(value) >= 10**_MOST_DIGITS:
        raise CellError("not-a-number", "This number is too long. Check the value.")
    return value


def whole_of(text: str, *, low: int, high: int) -> int:
    """Return a whole number between two bounds, both allowed.

    Raises
    ------
    CellError
        ``not-a-number``, ``not-whole`` or ``out-of-range``.
    """
    value = number_of(text)
    if value != value.to_integral_value():
        raise CellError("not-whole", "This must be a whole number.")
    if not low <= value <= high:
        raise CellError("out-of-range", f"This must lie from {low} to {high}.")
    return int(value)


def cents_of(text: str) -> int:
    """Return an amount of dollars in whole cents, exactly.

    Raises
    ------
    CellError
        ``not-an-amount``, ``part-of-a-cent`` or ``negative-amount``.
    """
    found = _MONEY.fullmatch(text)
    if found is None or len(found[3]) > _MOST_DIGITS:
        raise CellError(
            "not-an-amount", "This is no amount of money. Write it as in 1240.50."
        )
    if found[1] or found[2]:
        raise CellError("negative-amount", "An amount here cannot be below zero.")
    part = found[4] or ""
    if len(part.rstrip("0")) > 2:
        raise CellError(
            "part-of-a-cent", "An amount has at most two decimals. Round it to cents."
        )
    return int(found[3].replace(",", "")) * 100 + int((part + "00")[:2])


def yes_or_no(text: str) -> bool:
    """Return whether a cell says yes.

    Raises
    ------
    CellError
        ``not-yes-or-no``.
    """
    word = text.casefold()
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise CellError("not-yes-or-no", "This must be yes or no.")


def choice_of(text: str, choices: Mapping[str, str]) -> str:
    """Return the value whose word a cell holds; case, blanks and _ do not matter.

    Raises
    ------
    CellError
        ``unknown-word``, naming the words that are known.
    """
    value = choices.get(plain_word(text))
    if value is None:
        known = ", ".join(dict.fromkeys(choices))
        raise CellError("unknown-word", f"This must be one of: {known}.")
    return value


def plain_word(text: str) -> str:
    """Return a word as choices are looked up by."""
    return " ".join(re.split(r"[\s_-]+", text.casefold().strip()))
