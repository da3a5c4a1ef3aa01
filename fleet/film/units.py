"""Exact conversions between the units people read and the units records keep.

Every factor follows from two definitions: 1 in = 25.4 mm and 1 US gal = 231 in3, both
exact (NIST Handbook 44, appendix C; from memory, and recomputed in the tests). The
canonical values of records are computed with the `Decimal` functions and are exact;
the float factors are for columns.
"""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from typing import Final

from fleet.film.errors import FilmInputError

UM_PER_MIL: Final = Decimal("25.4")  # [um/mil] exact
M_PER_FT: Final = Decimal("0.3048")  # [m/ft] exact
M_PER_IN: Final = Decimal("0.0254")  # [m/in] exact
M2_PER_FT2: Final = Decimal("0.09290304")  # [m2/ft2] exact
ML_PER_GAL: Final = Decimal("3785.411784")  # [ml/US gal] exact
ML_PER_FL_OZ: Final = Decimal("29.5735295625")  # [ml/US fl oz] exact
ML_PER_IN3: Final = Decimal("16.387064")  # [ml/in3] exact

# The same factors for columns: the float nearest to the exact value.
MIL_UM: Final = 25.4  # [um/mil]
FT_M: Final = 0.3048  # [m/ft]
IN_M: Final = 0.0254  # [m/in]
FT2_M2: Final = 0.09290304  # [m2/ft2]
GAL_ML: Final = 3785.411784  # [ml/US gal]
FL_OZ_ML: Final = 29.5735295625  # [ml/US fl oz]

_FREEZING_F: Final = Decimal(32)
_F_PER_C: Final = Decimal("1.8")


class FilmUnit(StrEnum):
    """A unit a film gauge is read in."""

    MIL = "mil"
    UM = "um"


# Two code points draw the same sign: U+00B5 (micro) and U+03BC (Greek mu).
_FILM_SPELLINGS: Final[dict[str, FilmUnit]] = {
    "mil": FilmUnit.MIL,
    "mils": FilmUnit.MIL,
    "thou": FilmUnit.MIL,
    "um": FilmUnit.UM,
    "\u00b5m": FilmUnit.UM,
    "\u03bcm": FilmUnit.UM,
    "micron": FilmUnit.UM,
    "microns": FilmUnit.UM,
    "micrometre": FilmUnit.UM,
    "micrometres": FilmUnit.UM,
    "micrometer": FilmUnit.UM,
    "micrometers": FilmUnit.UM,
}


def film_unit_of(text: str) -> FilmUnit:
    """Return the film unit a spelling means.

    Parameters
    ----------
    text : str
        A spelling such as ``mils``, ``um`` or ``µm``; case and outer blanks do not
        matter.

    Raises
    ------
    FilmInputError
        If the spelling is not known. No unit is ever guessed.
    """
    unit = _FILM_SPELLINGS.get(text.strip().casefold())
    if unit is None:
        raise FilmInputError(
            f"unit must be mil or um (micrometre), got {text.strip()!r}. "
            "Write the unit printed on the gauge."
        )
    return unit


def um_from_film(value: Decimal, unit: FilmUnit) -> Decimal:
    """Return a film reading in micrometres, exactly. [um]

    Raises
    ------
    FilmInputError
        If `value` is not finite or below zero.
    """
    _require_finite("value", value)
    if value < 0:
        raise FilmInputError(
            f"value must be >= 0, got {value}. Read the gauge again: a film is not "
            "thinner than nothing."
        )
    return value * UM_PER_MIL if unit is FilmUnit.MIL else value


def mil_from_um(um: Decimal) -> Decimal:
    """Return mils from micrometres, to the precision of the decimal context. [mil]"""
    _require_finite("um", um)
    return um / UM_PER_MIL


def m_from_ft(ft: Decimal) -> Decimal:
    """Return metres from feet, exactly. [m]"""
    _require_finite("ft", ft)
    return ft * M_PER_FT


def m_from_in(inches: Decimal) -> Decimal:
    """Return metres from inches, exactly. [m]"""
    _require_finite("inches", inches)
    return inches * M_PER_IN


def m2_from_ft2(ft2: Decimal) -> Decimal:
    """Return square metres from square feet, exactly. [m2]"""
    _require_finite("ft2", ft2)
    return ft2 * M2_PER_FT2


def ml_from_gal(gal: Decimal) -> Decimal:
    """Return millilitres from US gallons, exactly. [ml]"""
    _require_finite("gal", gal)
    return gal * ML_PER_GAL


def ml_from_fl_oz(fl_oz: Decimal) -> Decimal:
    """Return millilitres from US fluid ounces, exactly. [ml]"""
    _require_finite("fl_oz", fl_oz)
    return fl_oz * ML_PER_FL_OZ


def c_from_f(temp_f: Decimal) -> Decimal:
    """Return degrees Celsius from degrees Fahrenheit. [°C]

    Exact wherever the quotient by 1.8 ends; else to the decimal context.
    """
    _require_finite("temp_f", temp_f)
    return (temp_f - _FREEZING_F) / _F_PER_C


def f_from_c(temp_c: Decimal) -> Decimal:
    """Return degrees Fahrenheit from degrees Celsius, exactly. [°F]"""
    _require_finite("temp_c", temp_c)
    return temp_c * _F_PER_C + _FREEZING_F


def c_from_f_difference(difference_f: float) -> float:
    """Return a temperature *difference* in kelvins from Fahrenheit degrees. [K]

    A margin of 5 °F is 2.78 K, not -15 °C: differences have no offset.
    """
    return difference_f / 1.8


def _require_finite(name: str, value: Decimal) -> None:
    if not value.is_finite():
        raise FilmInputError(
            f"{name} must be a finite number, got {value}. "
            "Correct the value and try again."
        )
