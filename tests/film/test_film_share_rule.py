"""Share rules: refusals and unknowns; the published numbers are under reference."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.film.errors import FilmInputError
from fleet.film.share_rule import judge_by_shares
from fleet.film.verdict import Verdict


def test_too_few_readings_are_unknown():
    result = judge_by_shares(np.full(19, 520.0), nominal_um=500.0, area_m2=24.53)

    assert (result.verdict, result.readings_needed) == (Verdict.UNKNOWN, 20)


def test_a_failure_comes_before_too_few_readings():
    result = judge_by_shares(np.array([399.0]), nominal_um=500.0, area_m2=24.53)

    assert result.verdict is Verdict.NOT_MET
    assert result.failed == ("mean", "floor")


def test_no_readings_are_unknown():
    result = judge_by_shares(np.array([]), nominal_um=500.0, area_m2=1.0)

    assert (result.verdict, result.mean_um) == (Verdict.UNKNOWN, None)


def test_refuses_a_maximum_below_the_nominal_film():
    with pytest.raises(FilmInputError, match="max_um must be finite and >= nominal_um"):
        judge_by_shares(np.full(5, 520.0), nominal_um=500.0, area_m2=1.0, max_um=400.0)
