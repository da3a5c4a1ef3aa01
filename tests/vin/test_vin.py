"""Identification numbers: questions, never refusals."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.vin import (
    VehicleClass,
    VinDoubt,
    VinInputError,
    VinKind,
    check_digit,
    maker_key,
    model_years,
    normalise,
    read_vin,
    suggestions,
)

RIGHT = "1G4AH59H45G118341"  # 49 CFR 565, table V
SIGNS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
numbers = st.text(alphabet=SIGNS, min_size=17, max_size=17)


def doubts_of(text, **over):
    return [warning.doubt for warning in read_vin(text, **over).warnings]


def with_digit(number):
    return number[:8] + check_digit(number) + number[9:]


class TestNormalise:
    @pytest.mark.parametrize(
        "text",
        ["1g4ah59h45g118341", " 1G4AH-59H-45G118341 ", "1G4 AH59H 45G\u2013118341"],
    )
    def test_takes_out_blanks_and_hyphens(self, text):
        assert normalise(text) == RIGHT

    @pytest.mark.slow
    @given(st.text(max_size=30))
    def test_is_settled_after_one_pass(self, text):
        assert normalise(normalise(text)) == normalise(text)


class TestReadVin:
    @given(st.text(max_size=20))
    def test_never_refuses(self, text):
        assert read_vin(text).kind in VinKind

    @given(numbers)
    def test_a_number_with_its_digit_has_no_doubt_about_it(self, number):
        reading = read_vin(with_digit(number))

        assert reading.is_check_digit_right is True
        assert reading.suggestions == ()

    def test_an_empty_plate_is_not_a_doubt(self):
        reading = read_vin("  ")

        assert (reading.kind, reading.warnings) == (VinKind.EMPTY, ())

    def test_names_the_letter_that_cannot_be(self):
        reading = read_vin("1M8GDM9AIKP042788")

        assert reading.is_check_digit_right is None
        assert reading.warnings[0].message == (
            "Position 9 is the letter I, which no number contains. Is it the digit 1?"
        )

    def test_a_wrong_digit_is_a_warning(self):
        assert doubts_of(RIGHT.replace("H45", "H35")) == [VinDoubt.CHECK_DIGIT]

    def test_a_foreign_number_need_not_have_one(self):
        reading = read_vin("WDB9066331S123456")

        assert reading.warnings[0].doubt is VinDoubt.CHECK_DIGIT_FOREIGN

    def test_a_short_number_is_questioned(self):
        assert doubts_of(RIGHT[:-1], model_year=2005) == [VinDoubt.LENGTH]

    @pytest.mark.parametrize("text", ["4T567", "GB-1044-77", "RX7700123456"])
    def test_an_old_serial_is_not(self, text):
        reading = read_vin(text, model_year=1976)

        assert (reading.kind, reading.warnings) == (VinKind.SERIAL, ())

    def test_four_signs_are_too_few_for_any_serial(self):
        assert doubts_of("1234", model_year=1976) == [VinDoubt.LENGTH]

    def test_a_year_that_does_not_fit_is_questioned(self):
        reading = read_vin(RIGHT, model_year=2011)

        assert reading.warnings[0].message == (
            "The number says model year 2005 or 2035 and the record says 2011. "
            "Which is right?"
        )

    @pytest.mark.parametrize("model_year", [2005, 2035])
    def test_either_year_of_the_cycle_fits(self, model_year):
        assert doubts_of(RIGHT, model_year=model_year) == []

    def test_no_year_code_is_questioned(self):
        number = with_digit("1G4AH59H0" + "0" + "G118341")

        assert doubts_of(number) == [VinDoubt.YEAR_CODE]


class TestMakerKey:
    def test_a_small_maker_needs_six_signs(self):
        assert maker_key("1Z9TR3229RA001234") == "1Z9001"

    def test_a_large_maker_needs_three(self):
        assert maker_key(RIGHT) == "1G4"


class TestSuggestions:
    def test_reads_letters_that_never_occur_as_digits(self):
        assert suggestions("IG4AH59H45GII834I") == (RIGHT,)

    @pytest.mark.parametrize(
        "slip", ["1G4AHS9H45G118341", "1G4AH59H4SG118341", "1G4AH59H45G11B341"]
    )
    def test_finds_a_lookalike(self, slip):
        assert RIGHT in suggestions(slip)

    def test_mends_both_kinds_of_slip(self):
        assert RIGHT in suggestions("IG4AHS9H45G118341")

    @given(numbers)
    def test_every_suggestion_has_its_digit(self, number):
        assert all(check_digit(one) == one[8] for one in suggestions(number))

    def test_a_number_of_another_length_has_none(self):
        assert suggestions(RIGHT[:-1]) == ()


class TestModelYears:
    @pytest.mark.parametrize("vehicle_class", ["TRAILER", "HEAVY", "UNKNOWN"])
    def test_both_years_where_position_seven_does_not_tell(self, vehicle_class):
        assert model_years("1Z9TR3229RA001234", VehicleClass(vehicle_class)) == (
            1994,
            2024,
        )

    def test_refuses_another_length(self):
        with pytest.raises(VinInputError, match="17 characters, got 3"):
            model_years("1G4", VehicleClass.LIGHT)


class TestCheckDigit:
    @pytest.mark.slow
    @given(numbers, st.sampled_from(string.printable))
    def test_ignores_what_stands_in_position_nine(self, number, sign):
        assert check_digit(number) == check_digit(number[:8] + sign + number[9:])

    @pytest.mark.parametrize("sign", ["I", "O", "Q", "_", "\u00b2", "a"])
    def test_refuses_signs_outside_the_alphabet(self, sign):
        with pytest.raises(VinInputError, match="Position 1 is"):
            check_digit(sign + RIGHT[1:])
