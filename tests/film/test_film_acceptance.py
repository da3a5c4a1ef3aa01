"""Acceptance of one coat, and of many: one rule, two ways to run it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.film import bulk
from fleet.film.acceptance import SpotReading, judge_coat
from fleet.film.errors import FilmInputError
from fleet.film.level import areas_required_ft2, film_limits
from fleet.film.verdict import CODE_OF_VERDICT, VERDICT_OF_CODE, Verdict, worst


def spots_of(area=1, means=(13.0,) * 5, readings=3):
    return [
        SpotReading(area=area, spot=number, dry_mil=mean)
        for number, mean in enumerate(means, start=1)
        for _ in range(readings)
    ]


def judged(readings, *, areas_required=1, low=12.5, high=18.0, level=3):
    return judge_coat(
        readings,
        dry_min_mil=low,
        dry_max_mil=high,
        areas_required=areas_required,
        level=level,
    )


class TestJudgeCoat:
    def test_a_full_area_within_limits_is_met(self):
        assert judged(spots_of()).verdict is Verdict.MET

    def test_no_readings_are_unknown(self):
        assert judged([]).verdict is Verdict.UNKNOWN

    def test_too_few_areas_are_unknown(self):
        result = judged(spots_of(), areas_required=2)

        assert result.verdict is Verdict.UNKNOWN
        assert result.because.startswith("1 of 2 areas")

    def test_a_failing_spot_comes_before_too_few_areas(self):
        result = judged(spots_of(means=(9.0, 13.0)), areas_required=3)

        assert result.verdict is Verdict.NOT_MET
        assert result.because == "Outside its limits: spot 1 of area 1."

    def test_a_spot_of_two_readings_is_ignored(self):
        result = judged([*spots_of(), *spots_of(area=2, means=(1.0,), readings=2)])

        assert result.verdict is Verdict.MET
        assert [spot.area for spot in result.ignored_spots] == [2]

    def test_four_spots_do_not_make_an_area(self):
        result = judged(spots_of(means=(11.0,) * 4))

        assert result.verdict is Verdict.UNKNOWN
        assert result.areas[0].mean_mil == pytest.approx(11.0)

    def test_an_area_below_the_minimum_fails_though_its_spots_pass(self):
        result = judged(spots_of(means=(12.0,) * 5))

        assert result.verdict is Verdict.NOT_MET
        assert not result.failing_spots
        assert result.because == "Outside its limits: area 1 as a whole."

    @pytest.mark.parametrize("mean", [12.5, 12.5 - 5e-10, 18.0, 18.0 + 5e-10])
    def test_limits_are_inclusive(self, mean):
        assert judged(spots_of(means=(mean,) * 5)).verdict is Verdict.MET

    @pytest.mark.parametrize("mean", [12.5 - 1e-6, 18.0 + 1e-6])
    def test_beyond_the_tolerance_fails(self, mean):
        assert judged(spots_of(means=(mean,) * 5)).verdict is Verdict.NOT_MET

    def test_names_the_lowest_and_highest_spot(self):
        result = judged(spots_of(means=(13.0, 12.6, 14.0, 13.0, 13.0)))

        assert result.lowest_spot is not None
        assert result.highest_spot is not None
        assert (result.lowest_spot.spot, result.highest_spot.spot) == (2, 3)

    def test_a_missing_maximum_limits_nothing(self):
        assert judged(spots_of(means=(90.0,) * 5), high=None).verdict is Verdict.MET

    def test_carries_the_caution_that_the_rule_is_for_metal(self):
        assert "metal" in judged(spots_of()).caution

    @pytest.mark.parametrize("dry_mil", [-1.0, float("nan"), float("inf")])
    def test_refuses_impossible_films(self, dry_mil):
        with pytest.raises(FilmInputError, match="at area 1, spot 1"):
            judged(spots_of(means=(dry_mil,)))

    def test_refuses_a_negative_number_of_areas(self):
        with pytest.raises(FilmInputError, match="areas_required"):
            judged(spots_of(), areas_required=-1)


class TestFilmLimits:
    @pytest.mark.parametrize("level", [0, 6, -1])
    def test_refuses_a_level_that_does_not_exist(self, level):
        with pytest.raises(FilmInputError, match="level must be 1 to 5"):
            film_limits(12.5, 18.0, level=level)

    def test_refuses_a_coat_without_limits(self):
        with pytest.raises(FilmInputError, match="both missing"):
            film_limits(None, None)

    def test_refuses_crossed_limits(self):
        with pytest.raises(FilmInputError, match="dry_max_mil must be >="):
            film_limits(18.0, 12.5)

    @pytest.mark.parametrize("low", [0.0, -1.0, float("inf")])
    def test_refuses_a_limit_that_is_no_film(self, low):
        with pytest.raises(FilmInputError, match="dry_min_mil"):
            film_limits(low, None)


class TestAreasRequired:
    def test_a_whole_multiple_survives_rounding_in_metres(self):
        # 25 x 8 ft are 18.580608 m2; a record that keeps four places has 18.5807.
        assert int(areas_required_ft2(18.5807 / 0.09290304)) == 2

    @pytest.mark.slow
    @given(st.floats(min_value=0.1, max_value=5000), st.floats(0, 1000))
    def test_more_roof_never_needs_fewer(self, area_ft2, more):
        assert areas_required_ft2(area_ft2) <= areas_required_ft2(area_ft2 + more)

    @pytest.mark.parametrize("area_ft2", [0.0, -1.0, float("nan")])
    def test_refuses_no_roof(self, area_ft2):
        with pytest.raises(FilmInputError, match="area_ft2"):
            areas_required_ft2(area_ft2)


readings_of_group = st.lists(
    st.builds(
        SpotReading,
        area=st.integers(1, 2),
        spot=st.integers(1, 5),
        dry_mil=st.integers(80, 200).map(lambda tenths: tenths / 10),
    ),
    max_size=40,
)
# Whole areas, so that MET and complete areas are reached often.
whole_areas = st.lists(
    st.tuples(
        st.integers(1, 3), st.lists(st.integers(95, 190), min_size=5, max_size=6)
    ),
    min_size=1,
    max_size=3,
    unique_by=lambda pair: pair[0],
).map(
    lambda areas: [
        reading
        for area, tenths in areas
        for reading in spots_of(area, [tenth / 10 for tenth in tenths])
    ]
)
groups = st.tuples(
    st.one_of(readings_of_group, whole_areas),
    st.sampled_from([12.5, 10.0, None]),
    st.sampled_from([18.0, 15.0]),
    st.integers(0, 3),
    st.integers(1, 5),
)


class TestJudgeCoats:
    @pytest.mark.slow
    @given(st.lists(groups, max_size=6), st.randoms(use_true_random=False))
    def test_agrees_with_judging_one_by_one(self, drawn, shuffler):
        rows = [
            (number, reading.area, reading.spot, reading.dry_mil)
            for number, (readings, *_) in enumerate(drawn)
            for reading in readings
        ]
        shuffler.shuffle(rows)
        group, area, spot = (
            np.array([row[column] for row in rows], dtype=np.int64)
            for column in range(3)
        )

        codes = bulk.judge_coats(
            group,
            area,
            spot,
            np.array([row[3] for row in rows]),
            dry_min_mil=np.array(
                [np.nan if low is None else low for _, low, *_ in drawn]
            ),
            dry_max_mil=np.array([high for _, _, high, *_ in drawn]),
            areas_required=np.array([need for *_, need, _ in drawn], dtype=np.int64),
            level=np.array([level for *_, level in drawn], dtype=np.int64),
        )

        assert [VERDICT_OF_CODE[code] for code in codes] == [
            judged(
                readings, areas_required=need, low=low, high=high, level=level
            ).verdict
            for readings, low, high, need, level in drawn
        ]

    def test_answers_every_verdict(self):
        rows = [(0, r) for r in spots_of()] + [(2, r) for r in spots_of(means=(1.0,))]

        codes = bulk.judge_coats(
            np.array([number for number, _ in rows]),
            np.array([reading.area for _, reading in rows]),
            np.array([reading.spot for _, reading in rows]),
            np.array([reading.dry_mil for _, reading in rows]),
            dry_min_mil=np.full(3, 12.5),
            dry_max_mil=np.full(3, 18.0),
            areas_required=np.ones(3, dtype=np.int64),
        )

        assert codes.dtype == np.int8
        assert codes.tolist() == [1, 0, 2]

    def test_sorts_keys_too_wide_for_one_integer(self):
        wide = np.array([0, 2**40, 0, 2**40], dtype=np.int64)

        means = bulk.spot_mean_columns(
            wide, wide[::-1].copy(), wide, np.array([1.0, 2.0, 3.0, 4.0])
        )

        assert means.keys[0].tolist() == [0, 2**40]
        assert means.count.tolist() == [2, 2]
        assert means.mean_mil.tolist() == [2.0, 3.0]

    @pytest.mark.parametrize("group", [-1, 1])
    def test_refuses_a_group_without_a_row(self, group):
        one = np.array([1])

        with pytest.raises(FilmInputError, match=r"group must be in \[0, 1\)"):
            bulk.judge_coats(
                np.array([group]),
                one,
                one,
                np.array([13.0]),
                dry_min_mil=np.array([12.5]),
                dry_max_mil=np.array([18.0]),
                areas_required=one,
            )


class TestVerdict:
    def test_codes_and_words_are_one_to_one(self):
        assert {VERDICT_OF_CODE[code] for code in range(3)} == set(Verdict)
        assert all(VERDICT_OF_CODE[code] is v for v, code in CODE_OF_VERDICT.items())

    @pytest.mark.parametrize(
        ("verdicts", "result"),
        [
            ((), Verdict.UNKNOWN),
            ((Verdict.MET,), Verdict.MET),
            ((Verdict.MET, Verdict.UNKNOWN), Verdict.UNKNOWN),
            ((Verdict.UNKNOWN, Verdict.NOT_MET, Verdict.MET), Verdict.NOT_MET),
        ],
    )
    def test_the_worst_decides(self, verdicts, result):
        assert worst(verdicts) is result
