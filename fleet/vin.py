"""Vehicle identification numbers: read carefully, question, never refuse.

A coach may carry no number, an old maker's serial, a foreign number without a check
digit, or one typed with a letter for a digit. Everything odd is a warning.

References
----------
.. [1] 49 CFR 565, tables III to VII (alphabet, weights, check digit, model years).
.. [2] 73 FR 23367 (2008): position 7 tells the thirty-year block of light vehicles
   only.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

VIN_LENGTH: Final = 17
_SHORTEST_SERIAL: Final = 5
_VALUES: Final[dict[str, int]] = {str(digit): digit for digit in range(10)} | dict(
    zip(
        "ABCDEFGHJKLMNPRSTUVWXYZ",
        (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9),
        strict=True,
    )
)
_WEIGHTS: Final = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_CHECK_AT: Final = 8  # position 9
_BLOCK_AT: Final = 6  # position 7
_YEAR_AT: Final = 9  # position 10
_YEAR_CODES: Final = "ABCDEFGHJKLMNPRSTVWXY123456789"
_FIRST_YEAR: Final = 1980
_CYCLE_YEARS: Final = len(_YEAR_CODES)
# The 17-character rule began with this model year (49 CFR 565 preamble).
FIRST_STANDARD_YEAR: Final = 1981
# Letters no number contains, and the digit each is usually meant to be.
_NEVER: Final[dict[str, str]] = {"I": "1", "O": "0", "Q": "0"}
# Signs that hands and eyes exchange, both ways.
_LOOKALIKES: Final = ("5S", "2Z", "8B", "0D", "6G", "1L", "1T", "7T", "UV", "MN", "4A")
_MOST_SUGGESTIONS: Final = 8
# Blanks, dots, and the hyphens and dashes that documents and phones put in.
_DROPPED: Final = dict.fromkeys(
    map(ord, " .-\t\n\r\u00a0\u2010\u2011\u2012\u2013\u2014")
)


class VinInputError(ValueError):
    """A text is not seventeen characters of the number's alphabet."""


class VehicleClass(StrEnum):
    """What the number belongs to, as far as the model-year rule asks."""

    LIGHT = "LIGHT"  # passenger car, or MPV and truck up to 10,000 lb (4536 kg)
    HEAVY = "HEAVY"  # a motorhome above that
    TRAILER = "TRAILER"
    UNKNOWN = "UNKNOWN"


class VinKind(StrEnum):
    """What sort of number was read."""

    EMPTY = "EMPTY"
    STANDARD = "STANDARD"  # seventeen characters
    SERIAL = "SERIAL"  # a maker's own, before model year 1981


class VinDoubt(StrEnum):
    """What may be wrong with a number."""

    LENGTH = "LENGTH"
    ALPHABET = "ALPHABET"
    CHECK_DIGIT = "CHECK_DIGIT"
    CHECK_DIGIT_FOREIGN = "CHECK_DIGIT_FOREIGN"
    YEAR_CODE = "YEAR_CODE"
    YEAR_MISMATCH = "YEAR_MISMATCH"


@dataclass(frozen=True, slots=True, kw_only=True)
class VinWarning:
    """One doubt about a number, with the sentence shown for it."""

    doubt: VinDoubt
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VinReading:
    """What a number says.

    `is_check_digit_right` is None where no check digit applies; `model_years` holds
    every year the number allows, oldest first; `maker_key` is what tells makers apart
    (three characters, six for small makers); `suggestions` are numbers one slip away
    whose check digit is right.
    """

    number: str
    kind: VinKind
    is_check_digit_right: bool | None = None
    model_years: tuple[int, ...] = ()
    maker_key: str = ""
    suggestions: tuple[str, ...] = ()
    warnings: tuple[VinWarning, ...] = ()


def normalise(text: str) -> str:
    """Return a number in capitals, without blanks, hyphens and dots."""
    return text.translate(_DROPPED).upper()


def check_digit(number: str) -> str:
    """Return the check digit of a seventeen-character number.

    The products of value and weight, summed, modulo 11; ten is written X. What stands
    in position 9 has weight zero and may be anything.

    Raises
    ------
    VinInputError
        If the length is not 17 or another position holds a sign outside the alphabet.
    """
    if len(number) != VIN_LENGTH:
        raise VinInputError(
            f"number must have {VIN_LENGTH} characters, got {len(number)}. "
            "Read the plate again."
        )
    total = 0
    for position, (sign, weight) in enumerate(zip(number, _WEIGHTS, strict=True)):
        if position == _CHECK_AT:
            continue
        if sign not in _VALUES:
            raise VinInputError(_alphabet_message(number, position))
        total += _VALUES[sign] * weight
    return "0123456789X"[total % 11]


def model_years(number: str, vehicle_class: VehicleClass) -> tuple[int, ...]:
    """Return the model years a seventeen-character number allows, oldest first.

    The code in position 10 repeats every thirty years. For light vehicles position 7
    tells the block: a digit 1980 to 2009, a letter 2010 to 2039. For trailers, heavy
    coaches and unknown classes it does not, and both years are returned: ask the owner
    or the title. Empty where position 10 is no year code (often so on foreign numbers).

    Raises
    ------
    VinInputError
        If the length is not 17.
    """
    if len(number) != VIN_LENGTH:
        raise VinInputError(
            f"number must have {VIN_LENGTH} characters, got {len(number)}. "
            "Read the plate again."
        )
    if number[_YEAR_AT] not in _YEAR_CODES:
        return ()
    early = _FIRST_YEAR + _YEAR_CODES.index(number[_YEAR_AT])
    late = early + _CYCLE_YEARS
    if vehicle_class is not VehicleClass.LIGHT:
        return early, late
    return (early,) if number[_BLOCK_AT] in "0123456789" else (late,)


def maker_key(number: str) -> str:
    """Return what identifies the maker of a seventeen-character number.

    Positions 1 to 3; where position 3 is 9 (a small maker), positions 12 to 14 too.
    """
    return number[:3] + number[11:14] if number[2:3] == "9" else number[:3]


def suggestions(number: str) -> tuple[str, ...]:
    """Return numbers a slip away from this one whose check digit is right.

    Letters that never occur are first read as the digits they resemble; if that does
    not settle the check digit, one further lookalike is exchanged. Empty when the
    number is already right or nothing fits. A suggestion is a question for the person
    at the plate, never a correction.
    """
    if len(number) != VIN_LENGTH or _is_right(number):
        return ()
    plain = "".join(_NEVER.get(sign, sign) for sign in number)
    if _is_right(plain):
        return (plain,)
    fitting = dict.fromkeys(one for one in _one_slip(plain) if _is_right(one))
    return tuple(fitting)[:_MOST_SUGGESTIONS]


def read_vin(
    text: str,
    *,
    vehicle_class: VehicleClass = VehicleClass.UNKNOWN,
    model_year: int | None = None,
) -> VinReading:
    """Return everything a typed number says, with warnings and suggestions.

    Parameters
    ----------
    text : str
        As typed; empty where the coach has no number.
    vehicle_class : VehicleClass, default UNKNOWN
        Decides whether position 7 tells the model-year block.
    model_year : int or None
        The year on the record, compared with the number.
    """
    number = normalise(text)
    if not number:
        return VinReading(number="", kind=VinKind.EMPTY)
    if len(number) != VIN_LENGTH:
        return VinReading(
            number=number,
            kind=VinKind.SERIAL,
            warnings=tuple(_serial_warnings(number, model_year)),
        )
    years = model_years(number, vehicle_class)
    is_readable = all(sign in _VALUES for sign in number)
    return VinReading(
        number=number,
        kind=VinKind.STANDARD,
        is_check_digit_right=_is_right(number) if is_readable else None,
        model_years=years,
        maker_key=maker_key(number),
        suggestions=suggestions(number),
        warnings=(
            *_number_warnings(number),
            *_year_warnings(number, years, model_year),
        ),
    )


def _is_right(number: str) -> bool:
    if any(sign not in _VALUES for sign in number):
        return False
    return check_digit(number) == number[_CHECK_AT]


def _one_slip(number: str) -> Iterator[str]:
    for position, sign in enumerate(number):
        for pair in _LOOKALIKES:
            if sign in pair:
                other = pair[1 - pair.index(sign)]
                yield number[:position] + other + number[position + 1 :]


def _serial_warnings(number: str, model_year: int | None) -> Iterator[VinWarning]:
    is_old = model_year is not None and model_year < FIRST_STANDARD_YEAR
    if is_old and _SHORTEST_SERIAL <= len(number) < VIN_LENGTH:
        return
    message = (
        f"This number has {len(number)} characters; since model year "
        f"{FIRST_STANDARD_YEAR} a number has {VIN_LENGTH}. Is one missing or doubled?"
    )
    if model_year is None and _SHORTEST_SERIAL <= len(number) < VIN_LENGTH:
        message += " An older coach may carry a maker's serial like this."
    yield VinWarning(doubt=VinDoubt.LENGTH, message=message)


def _number_warnings(number: str) -> Iterator[VinWarning]:
    odd = [at for at, sign in enumerate(number) if sign not in _VALUES]
    for position in odd:
        message = _alphabet_message(number, position)
        yield VinWarning(doubt=VinDoubt.ALPHABET, message=message)
    if odd or _is_right(number):
        return
    wanted, found = check_digit(number), number[_CHECK_AT]
    if number[0] in "12345":  # made in North America, where the digit is required
        yield VinWarning(
            doubt=VinDoubt.CHECK_DIGIT,
            message=(
                f"Position 9 is {found} and the other characters ask for {wanted}. "
                "Read the plate again."
            ),
        )
    else:
        yield VinWarning(
            doubt=VinDoubt.CHECK_DIGIT_FOREIGN,
            message=(
                f"Position 9 is {found} where a check digit would be {wanted}; makers "
                "outside North America need not have one. Compare with the plate."
            ),
        )


def _year_warnings(
    number: str, years: tuple[int, ...], model_year: int | None
) -> Iterator[VinWarning]:
    if not years:
        yield VinWarning(
            doubt=VinDoubt.YEAR_CODE,
            message=(
                f"Position 10 is {number[_YEAR_AT]}, which is no model-year code. "
                "Take the year from the title."
            ),
        )
    elif model_year is not None and model_year not in years:
        allowed = " or ".join(str(year) for year in years)
        yield VinWarning(
            doubt=VinDoubt.YEAR_MISMATCH,
            message=(
                f"The number says model year {allowed} and the record says "
                f"{model_year}. Which is right?"
            ),
        )


def _alphabet_message(number: str, position: int) -> str:
    sign = number[position]
    if sign in _NEVER:
        return (
            f"Position {position + 1} is the letter {sign}, which no number contains. "
            f"Is it the digit {_NEVER[sign]}?"
        )
    return (
        f"Position {position + 1} is {sign!r}, which is neither a digit nor a letter "
        "of the alphabet. Read the plate again."
    )
