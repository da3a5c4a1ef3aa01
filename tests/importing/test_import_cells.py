"""Each kind of dirt that office cells have, one by one."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest

from warranty.workbook.cells import (
    cents_of,
    choice_of,
    day_of,
    instant_of,
    number_of,
    whole_of,
    yes_or_no,
)
from warranty.workbook.errors import CellError
from warranty.workbook.xlsx import text_of


class TestDays:
    @pytest.mark.parametrize(
        "text",
        ["2023-05-12", "5/12/2023", "05/12/2023", "12 May 2023", "12 may 2023"],
    )
    def test_three_styles_name_the_same_day(self, text):
        assert day_of(text) == date(2023, 5, 12)

    def test_a_us_date_has_its_month_first(self):
        assert day_of("3/4/2025") == date(2025, 3, 4)

    def test_september_is_known_by_its_four_letters(self):
        assert day_of("7 Sept 2025") == date(2025, 9, 7)

    @pytest.mark.parametrize("text", ["2023-02-30", "13/1/2023", "31 Jun 2023"])
    def test_a_day_that_does_not_exist_is_refused(self, text):
        with pytest.raises(CellError) as refused:
            day_of(text)
        assert refused.value.code == "no-such-date"

    @pytest.mark.parametrize(
        "text", ["5/12/23", "soon", "45000", "12 M 2023", "2023-05", "2023-05-12x"]
    )
    def test_what_is_no_date_for_sure_is_refused(self, text):
        with pytest.raises(CellError) as refused:
            day_of(text)
        assert refused.value.code == "not-a-date"

    @pytest.mark.parametrize("text", ["0202-05-12", "9999-01-01"])
    def test_a_slipped_year_is_refused(self, text):
        with pytest.raises(CellError) as refused:
            day_of(text)
        assert refused.value.code == "date-out-of-range"


class TestNumbers:
    @pytest.mark.parametrize("text", ["33 ft", "33ft", "33 feet", "33'", "33", "33.0"])
    def test_the_columns_own_unit_may_stand_behind(self, text):
        assert number_of(text, unit="ft") == Decimal(33)

    @pytest.mark.parametrize("text", ["10 m", "33 in", "33 %"])
    def test_another_unit_is_refused_and_never_converted(self, text):
        with pytest.raises(CellError) as refused:
            number_of(text, unit="ft")
        assert refused.value.code == "other-unit"

    def test_thousands_commas_are_read(self):
        assert number_of("1,240.5") == Decimal("1240.5")

    @pytest.mark.parametrize(
        "text", ["1,24", "12,40.5", "1.2.3", "about 40", "1e5", "nan", "inf", "--4"]
    )
    def test_what_is_no_number_for_sure_is_refused(self, text):
        with pytest.raises(CellError):
            number_of(text)

    def test_a_number_too_long_for_the_record_is_refused(self):
        with pytest.raises(CellError):
            number_of("9" * 30)

    def test_a_whole_number_keeps_to_its_bounds(self):
        assert whole_of("3.0", low=1, high=5) == 3
        with pytest.raises(CellError, match="whole"):
            whole_of("3.5", low=1, high=5)
        with pytest.raises(CellError, match="from 1 to 5"):
            whole_of("6", low=1, high=5)


class TestMoney:
    @pytest.mark.parametrize(
        ("text", "cents"),
        [
            ("600", 60_000),
            ("$780", 78_000),
            ("$ 1,240.50", 124_050),
            ("1,240", 124_000),
            ("0.10", 10),
            ("19.9", 1_990),
            ("5.000", 500),
        ],
    )
    def test_dollars_become_cents_exactly(self, text, cents):
        assert cents_of(text) == cents

    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("about 40", "not-an-amount"),
            ("1,24", "not-an-amount"),
            ("€40", "not-an-amount"),
            ("12.345", "part-of-a-cent"),
            ("-40", "negative-amount"),
            ("$-40", "negative-amount"),
        ],
    )
    def test_other_texts_are_refused(self, text, code):
        with pytest.raises(CellError) as refused:
            cents_of(text)
        assert refused.value.code == code


class TestWords:
    @pytest.mark.parametrize("text", ["yes", "Y", "YES", "true"])
    def test_yes_has_many_spellings(self, text):
        assert yes_or_no(text) is True

    @pytest.mark.parametrize("text", ["no", "N", "false"])
    def test_no_has_many_spellings(self, text):
        assert yes_or_no(text) is False

    def test_maybe_is_refused(self):
        with pytest.raises(CellError):
            yes_or_no("maybe")

    def test_a_choice_forgives_case_blanks_and_underscores(self):
        assert choice_of("Travel_Trailer", {"travel trailer": "T"}) == "T"

    def test_an_unknown_word_is_refused_with_the_known_ones(self):
        with pytest.raises(CellError, match="travel trailer"):
            choice_of("boat", {"travel trailer": "T"})


class TestMoments:
    def test_a_moment_keeps_its_offset(self):
        read = instant_of("2025-07-15T12:47:00-05:00")

        assert read.utcoffset() == timedelta(hours=-5)

    def test_a_local_time_is_no_moment(self):
        with pytest.raises(CellError) as refused:
            instant_of("2025-07-15T12:47:00")
        assert refused.value.code == "no-offset"


class TestSpreadsheetCells:
    @pytest.mark.parametrize(
        ("cell", "text"),
        [
            (date(2024, 5, 1), "2024-05-01"),
            (datetime(2024, 5, 1), "2024-05-01"),  # noqa: DTZ001 - as spreadsheets do
            (26.0, "26"),
            (21.500000000000004, "21.5"),
            (0.1 + 0.2, "0.3"),
            (True, "yes"),
            ("33 ft", "33 ft"),
        ],
    )
    def test_a_cell_is_written_as_an_office_types_it(self, cell, text):
        assert text_of(cell) == text
