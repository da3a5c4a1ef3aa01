"""Adhesion: methods, whole grades, and scales that are not compared."""

from __future__ import annotations

import pytest

from fleet.site.adhesion import (
    AdhesionGrade,
    AdhesionMethod,
    adhesion_grade,
    compare,
    cross_hatch_grade,
    is_tape_time_right,
    n_per_m_from_lbf_per_in,
    psi_from_mpa,
    require_tape_method,
    tape_method_for,
)
from fleet.site.errors import SiteInputError

A, B, ISO = AdhesionMethod.D3359_A, AdhesionMethod.D3359_B, AdhesionMethod.ISO_2409


class TestTapeMethod:
    # ASTM D3359-23, scope: X-cut above 125 um (5 mil), cross-hatch below it unless a
    # wider spacing is agreed.
    @pytest.mark.parametrize(
        ("dry_um", "agreed", "method"),
        [(508.0, False, A), (508.0, True, B), (125.0, False, B), (100.0, False, B)],
    )
    def test_thickness_chooses(self, dry_um, agreed, method):
        assert tape_method_for(dry_um, wider_spacing_agreed=agreed) is method

    def test_refuses_a_cross_hatch_on_a_roof_film(self):
        with pytest.raises(SiteInputError, match="method must be the X-cut"):
            require_tape_method(B, dry_um=508.0, wider_spacing_agreed=False)

    def test_allows_an_x_cut_on_any_film(self):
        require_tape_method(A, dry_um=50.0, wider_spacing_agreed=False)


class TestGrades:
    # ASTM D3359 scale B: 5B and 4B as read, the lower limits 15, 35, 65 from memory.
    @pytest.mark.parametrize(
        ("removed_pct", "grade"),
        [
            (0, "5B"),
            (4.9, "4B"),
            (5, "3B"),
            (15, "3B"),
            (16, "2B"),
            (35, "2B"),
            (36, "1B"),
            (65, "1B"),
            (66, "0B"),
            (100, "0B"),
        ],
    )
    def test_cross_hatch_scale(self, removed_pct, grade):
        assert cross_hatch_grade(float(removed_pct)).text == grade

    def test_there_are_no_grades_in_between(self):
        # ASTM D3359-23, 5.2.
        with pytest.raises(SiteInputError, match="whole grade"):
            adhesion_grade(A, 3.5)

    @pytest.mark.parametrize("grade", [-1, 6])
    def test_the_scale_has_ends(self, grade):
        with pytest.raises(SiteInputError, match="grade must be 0 to 5"):
            adhesion_grade(A, grade)

    def test_scales_run_in_opposite_directions(self):
        # ISO 2409: 0 is best; ASTM D3359: 5 is best (from memory).
        assert AdhesionGrade(method=ISO, grade=0).steps_from_best == 0
        assert AdhesionGrade(method=B, grade=0).steps_from_best == 5

    def test_grades_of_one_method_compare(self):
        better = compare(
            AdhesionGrade(method=B, grade=4), AdhesionGrade(method=B, grade=2)
        )

        assert better == 2

    def test_grades_of_two_methods_do_not(self):
        with pytest.raises(SiteInputError, match="methods must be equal"):
            compare(
                AdhesionGrade(method=B, grade=4), AdhesionGrade(method=ISO, grade=0)
            )


@pytest.mark.parametrize(
    ("seconds", "right"), [(59, False), (60, True), (120, True), (121, False)]
)
def test_tape_comes_off_within_90_seconds_give_or_take_30(seconds, right):
    # ASTM D3359-23 (and 2009, 12.8).
    assert is_tape_time_right(float(seconds)) is right


def test_units_of_pull_and_peel():
    # Definitions: 1 lbf = 4.4482216152605 N, 1 in = 0.0254 m.
    assert psi_from_mpa(1.0) == pytest.approx(1e6 / (4.4482216152605 / 0.0254**2))
    assert n_per_m_from_lbf_per_in(1.0) == pytest.approx(4.4482216152605 / 0.0254)
