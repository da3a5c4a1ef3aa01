"""Signs of a record too good to be true: common practice, no source."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest

from warranty.rules.doubts import (
    Attended,
    Litres,
    Mark,
    Sign,
    WetReading,
    climate_at_night,
    equal_wet_readings,
    litres_and_film,
    same_second,
    too_many_roofs,
)

DAY = date(2026, 5, 5)
EASTERN = timezone(timedelta(hours=-4))
NINE = datetime(2026, 5, 5, 9, 0, 7, tzinfo=EASTERN)


def wet(count, *, last=500.0, first=550.0, coat="base"):
    return [
        WetReading(coat=coat, on=DAY, last_wet_um=last, first_dry_um=first)
        for _ in range(count)
    ]


def marks(*times, kind="weather readings"):
    return [Mark(kind=kind, at=at, reference=f"r{n}") for n, at in enumerate(times)]


def attended(number, **over):
    fields = {"who": "R. Mallory", "roof": f"HL-{number}", "on": DAY, **over}
    return Attended(reference=f"visit V{number}", **fields)


class TestEqualWetReadings:
    def test_fifteen_the_same_are_a_question(self):
        [doubt] = equal_wet_readings(wet(15))

        assert doubt.sign is Sign.WET_ALL_EQUAL
        assert doubt.question.endswith("?")

    def test_fourteen_may_be_chance(self):
        assert equal_wet_readings(wet(14)) == ()

    def test_one_that_differs_is_enough(self):
        assert equal_wet_readings([*wet(30), *wet(1, first=600.0)]) == ()

    def test_coats_are_not_taken_together(self):
        assert equal_wet_readings([*wet(8), *wet(8, coat="finish")]) == ()


class TestSameSecond:
    def test_two_in_one_second_are_a_question(self):
        [doubt] = same_second(marks(NINE, NINE.replace(microsecond=900_000)))

        assert doubt.records == ("r0", "r1")

    def test_a_second_apart_is_none(self):
        assert same_second(marks(NINE, NINE + timedelta(seconds=1))) == ()

    def test_the_same_instant_in_two_offsets_is_one_second(self):
        abroad = NINE.astimezone(timezone(timedelta(hours=-5)))

        assert len(same_second(marks(NINE, abroad))) == 1


class TestLitresAndFilm:
    @pytest.mark.parametrize(
        ("needed_ml", "signs"),
        [
            (11_500, []),  # exactly the 15 per cent of the mass balance
            (11_501, [Sign.MORE_FILM_THAN_LITRES]),
            (5_001, []),
            (5_000, [Sign.HALF_THE_LITRES]),
        ],
    )
    def test_asks_beyond_the_edges(self, needed_ml, signs):
        found = litres_and_film(
            [Litres(coat="base", opened_ml=10_000, needed_ml=needed_ml)]
        )

        assert [doubt.sign for doubt in found] == signs

    def test_without_litres_there_is_nothing_to_compare(self):
        assert litres_and_film([Litres(coat="base", opened_ml=0, needed_ml=5)]) == ()


class TestClimateAtNight:
    @pytest.mark.parametrize(
        ("hour", "minute", "count"),
        [(22, 59, 0), (23, 0, 1), (0, 0, 1), (3, 59, 1), (4, 0, 0)],
    )
    def test_asks_by_the_clock_at_the_coach(self, hour, minute, count):
        at = NINE.replace(hour=hour, minute=minute)

        assert len(climate_at_night(marks(at))) == count


class TestTooManyRoofs:
    def test_four_roofs_within_an_hour(self):
        rows = [attended(n, at=NINE + timedelta(minutes=19 * n)) for n in range(4)]

        assert [doubt.sign for doubt in too_many_roofs(rows)] == [Sign.MANY_IN_AN_HOUR]

    def test_the_fourth_an_hour_later_is_none(self):
        rows = [attended(n, at=NINE + timedelta(minutes=20 * n)) for n in range(4)]

        assert too_many_roofs(rows) == ()

    def test_four_marks_on_one_roof_are_one_roof(self):
        rows = [attended(1, at=NINE + timedelta(minutes=n)) for n in range(4)]

        assert too_many_roofs(rows) == ()

    def test_twelve_in_a_day_without_times(self):
        assert [d.sign for d in too_many_roofs([attended(n) for n in range(12)])] == [
            Sign.MANY_IN_A_DAY
        ]
        assert too_many_roofs([attended(n) for n in range(11)]) == ()

    def test_two_states_in_a_day(self):
        rows = [
            attended(1, place="Gull Prairie, MI", state="MI"),
            attended(2, place="Mill Narrows, OH", state="OH"),
        ]

        [doubt] = too_many_roofs(rows)

        assert doubt.sign is Sign.FAR_APART

    def test_two_people_are_two(self):
        rows = [
            attended(1, place="Gull Prairie, MI", state="MI"),
            attended(2, place="Mill Narrows, OH", state="OH", who="J. Ferro"),
        ]

        assert too_many_roofs(rows) == ()

    def test_nobody_named_is_nobody_to_ask(self):
        assert too_many_roofs([attended(n, who="") for n in range(20)]) == ()


def test_the_same_records_keep_the_same_key():
    rows = marks(NINE, NINE)

    assert same_second(rows)[0].key == same_second(rows[::-1])[0].key
