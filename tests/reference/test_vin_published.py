"""Check digit and model year against 49 CFR 565 and a reference library."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from vininfo import Vin

from fleet.vin import VehicleClass, check_digit, model_years, read_vin

SIGNS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
numbers = st.text(alphabet=SIGNS, min_size=17, max_size=17)


def test_official_worked_example():
    # 49 CFR 565, table V: products sum to 411, remainder 4.
    assert check_digit("1G4AH59H_5G118341") == "4"


def test_published_example_with_remainder_ten():
    # Several published pages: 351 mod 11 = 10, written X.
    assert check_digit("1M8GDM9A_KP042788") == "X"


def test_constructed_trailer():
    # 565.2 covers trailers; the number is constructed, its sum 328 leaves 9.
    assert check_digit("1Z9TR322_RA001234") == "9"


@given(numbers, st.sampled_from("0123456789X"))
def test_agrees_with_vininfo(number, digit):
    # vininfo 1.11, used for the digit only: its model years depend on today's date,
    # and it knows makers that use no digit, so the number starts with a US maker.
    candidate = "1Z9" + number[3:8] + digit + number[9:]

    agrees = Vin(candidate).verify_checksum(check_year=False)
    assert agrees == (check_digit(candidate) == digit)


# 49 CFR 565, table VII, run by run: I, O, Q, U, Z and 0 are left out.
@pytest.mark.parametrize(
    ("codes", "first_year"),
    [
        ("ABCDEFGH", 1980),
        ("JKLMN", 1988),
        ("P", 1993),
        ("RST", 1994),
        ("VWXY", 1997),
        ("123456789", 2001),
    ],
)
def test_model_year_codes(codes, first_year):
    for year, code in enumerate(codes, start=first_year):
        number = f"1Z9TR3229{code}A001234"

        assert model_years(number, VehicleClass.TRAILER) == (year, year + 30)


@pytest.mark.parametrize("code", ["U", "Z", "0"])
def test_codes_that_no_year_has(code):
    assert model_years(f"1Z9TR3229{code}A001234", VehicleClass.TRAILER) == ()


# NHTSA final rule of 2008 (73 FR 23367): a digit in position 7 means 1980 to 2009 and
# a letter 2010 to 2039, for light vehicles only.
@pytest.mark.parametrize(("seventh", "year"), [("9", 1989), ("A", 2019)])
def test_position_seven_tells_the_block_of_a_light_vehicle(seventh, year):
    number = f"1M8GDM{seventh}AXKP042788"

    assert model_years(number, VehicleClass.LIGHT) == (year,)


# Letters and digits that share a value cannot be told apart by the digit (computed
# from table III).
@pytest.mark.parametrize(
    "group", ["1AJ", "2BKS", "3CLT", "4DMU", "5ENV", "6FW", "7GPX", "8HY", "9RZ"]
)
def test_signs_of_one_value_are_not_told_apart(group):
    digits = {check_digit(f"1M8GDM9A_KP0427{sign}8") for sign in group}

    assert len(digits) == 1


@pytest.mark.slow
@given(numbers, st.sampled_from([at for at in range(16) if at not in (7, 8)]))
def test_adjacent_exchanges_of_unequal_values_are_caught(number, at):
    # Derived: the weights of neighbours differ by less than eleven and never by zero.
    swapped = number[:at] + number[at + 1] + number[at] + number[at + 2 :]
    groups = ("1AJ", "2BKS", "3CLT", "4DMU", "5ENV", "6FW", "7GPX", "8HY", "9RZ", "0")
    shares = any(number[at] in g and number[at + 1] in g for g in groups)

    assert (check_digit(swapped) == check_digit(number)) is shares


def test_a_letter_that_cannot_be_is_named():
    # Published example of a misread plate (I for X in position 9).
    reading = read_vin("1M8GDM9AIKP042788")

    assert "letter I" in reading.warnings[0].message
