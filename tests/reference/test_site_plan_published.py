"""Roof geometry against worked figures (geometry, computed independently)."""

from __future__ import annotations

from math import asin

import pytest

from fleet.film.units import FT2_M2, FT_M, IN_M
from fleet.site.plan import PlanPenetration, RoofPlan


def plan_of(length_ft, width_in, **over):
    return RoofPlan(length_m=length_ft * FT_M, width_m=width_in * IN_M, **over)


@pytest.mark.parametrize(
    ("length_ft", "width_in", "area_ft2"), [(33, 96, 264), (30, 102, 255)]
)
def test_plan_area(length_ft, width_in, area_ft2):
    assert plan_of(length_ft, width_in).plan_area_m2 / FT2_M2 == pytest.approx(area_ft2)


def test_264_square_feet_are_24_526_square_metres():
    assert plan_of(33, 96).plan_area_m2 == pytest.approx(24.526, abs=5e-4)


@pytest.mark.parametrize(
    ("width_in", "rise_in", "per_cent"), [(96, 2, 0.12), (102, 6, 0.92)]
)
def test_crown_correction(width_in, rise_in, per_cent):
    plan = plan_of(33, width_in, crown_rise_m=rise_in * IN_M)

    assert (plan.crown_ratio - 1) * 100 == pytest.approx(per_cent, abs=0.005)


@pytest.mark.parametrize("rise_in", [1, 2, 4, 6, 10])
def test_crown_series_is_close_to_the_arc(rise_in):
    # Exact circular arc: R = (c^2/4 + h^2) / 2h, arc = 2 R asin(c / 2R).
    chord = 102.0
    radius = (chord**2 / 4 + rise_in**2) / (2 * rise_in)
    arc_ratio = 2 * radius * asin(chord / (2 * radius)) / chord

    plan = plan_of(33, 102, crown_rise_m=rise_in * IN_M)
    assert plan.crown_ratio == pytest.approx(arc_ratio, abs=1e-3)


def test_down_turn_of_three_inches():
    plan = plan_of(33, 96, edge_return_m=3 * IN_M)

    assert plan.edge_area_m2 / FT2_M2 == pytest.approx(20.5)


def test_perimeter_of_33_by_8_feet():
    assert plan_of(33, 96).perimeter_m / FT_M == pytest.approx(82)


def test_two_vents_are_about_one_per_cent():
    side_m = 14.25 * IN_M
    vents = tuple(
        PlanPenetration(
            label=f"vent {x_m}", x_m=x_m, y_m=1.2, length_m=side_m, width_m=side_m
        )
        for x_m in (2.0, 6.0)
    )

    plan = plan_of(33, 96, penetrations=vents)
    assert plan.openings_area_m2 / FT2_M2 == pytest.approx(2.82, abs=0.005)
