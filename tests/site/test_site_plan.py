"""The roof plan: sums, and doubts that never refuse."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.site.errors import SiteInputError
from fleet.site.plan import PlanDoubt, PlanPenetration, RoofPlan


def make_plan(**over):
    return RoofPlan(**({"length_m": 10.0, "width_m": 2.5} | over))


def make_vent(**over):
    fields = {"label": "vent 1", "x_m": 2.0, "y_m": 1.0}
    return PlanPenetration(**(fields | {"length_m": 0.36, "width_m": 0.36} | over))


def doubts_of(plan):
    return [warning.doubt for warning in plan.warnings]


class TestAreas:
    def test_laps_run_across_the_full_width(self):
        plan = make_plan(front_lap_m=0.06, rear_lap_m=0.04)

        assert plan.coated_area_m2 == pytest.approx(10.1 * 2.5)

    @pytest.mark.slow
    @given(st.floats(3, 14), st.floats(2, 2.6), st.floats(0, 0.2), st.floats(0, 0.1))
    def test_the_coated_area_is_never_below_the_plan(self, length, width, rise, edge):
        plan = make_plan(
            length_m=length, width_m=width, crown_rise_m=rise, edge_return_m=edge
        )

        assert plan.coated_area_m2 >= plan.plan_area_m2

    def test_penetrations_add_detail_and_openings(self):
        plan = make_plan(
            penetrations=(make_vent(), make_vent(x_m=5.0, length_m=0.5, width_m=0.3))
        )

        assert plan.detail_m == pytest.approx(1.44 + 1.6)
        assert plan.openings_area_m2 == pytest.approx(0.1296 + 0.15)


class TestWarnings:
    def test_a_usual_roof_has_none(self):
        assert make_plan(penetrations=(make_vent(),)).warnings == ()

    @pytest.mark.parametrize(
        ("over", "doubt"),
        [
            ({"width_m": 2.2}, PlanDoubt.NARROW),
            ({"width_m": 2.7}, PlanDoubt.WIDE),
            ({"width_m": 2.95}, PlanDoubt.TOO_WIDE),
            ({"length_m": 14.0}, PlanDoubt.LONG),
            ({"length_m": 2.42, "width_m": 2.4}, PlanDoubt.SHORT),
            ({"length_m": 2.45, "width_m": 2.5}, PlanDoubt.WIDER_THAN_LONG),
        ],
    )
    def test_an_odd_outline_is_questioned(self, over, doubt):
        assert doubts_of(make_plan(**over)) == [doubt]

    @pytest.mark.parametrize("width_m", [96 * 0.0254, 102 * 0.0254])
    def test_usual_widths_are_not(self, width_m):
        assert doubts_of(make_plan(width_m=width_m)) == []

    @pytest.mark.parametrize("over", [{"x_m": 9.9}, {"x_m": 0.1}, {"y_m": -0.5}])
    def test_a_penetration_beyond_the_outline_is_named(self, over):
        (warning,) = make_plan(penetrations=(make_vent(**over),)).warnings

        assert warning.doubt is PlanDoubt.PENETRATION_OUTSIDE
        assert warning.labels == ("vent 1",)

    def test_two_penetrations_in_one_place_are_named(self):
        plan = make_plan(penetrations=(make_vent(), make_vent(label="vent 2", x_m=2.2)))

        assert [warning.labels for warning in plan.warnings] == [("vent 1", "vent 2")]

    def test_neighbours_that_touch_do_not_overlap(self):
        plan = make_plan(
            penetrations=(
                make_vent(length_m=0.5),
                make_vent(label="vent 2", x_m=2.5, length_m=0.5),
            )
        )

        assert plan.warnings == ()


class TestRefusals:
    @pytest.mark.parametrize("length_m", [0.0, -1.0, float("nan"), float("inf")])
    def test_an_outline_needs_a_length(self, length_m):
        with pytest.raises(SiteInputError, match="length_m"):
            make_plan(length_m=length_m)

    def test_a_penetration_has_no_negative_size(self):
        with pytest.raises(SiteInputError, match="width_m"):
            make_vent(width_m=-0.1)
