"""Tolerance factors and sample sizes against published tables."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.film.statistics import (
    checks_needed_of,
    readings_needed,
    summarise,
    tolerance_factor,
)


def test_nist_handbook_exact_factor():
    # NIST/SEMATECH e-Handbook 7.2.6.3, N=43, 90 % with 99 % confidence: 1.8740 (quoted
    # from memory of the page; the recomputed value is 1.8739536).
    factor = tolerance_factor(43, proportion=0.90, confidence=0.99)

    assert factor == pytest.approx(1.8739536, abs=1e-6)


# Hahn & Meeker / ISO 16269-6 tables, one-sided 95/95 (quoted from memory).
@pytest.mark.parametrize(
    ("count", "factor"),
    [(10, 2.911), (20, 2.396), (30, 2.220), (50, 2.065), (100, 1.927)],
)
def test_tables_of_k(count, factor):
    assert tolerance_factor(count) == pytest.approx(factor, abs=6e-4)


def test_bound_is_mean_less_k_standard_deviations():
    # ISO 16269-6 table: k = 2.396 for twenty values.
    values = np.linspace(12.0, 16.0, 20)

    summary = summarise(values)

    expected = values.mean() - 2.396 * values.std(ddof=1)
    assert summary.lower_bound == pytest.approx(expected, abs=1e-3)


# Wilks (1941), 95/95 one-sided, first to fifth order (quoted from memory).
@pytest.mark.parametrize(
    ("below", "readings"), [(0, 59), (1, 93), (2, 124), (3, 153), (4, 181)]
)
def test_wilks_orders(below, readings):
    assert readings_needed(below=below) == readings


# Wilks (1941), proportion / confidence, first order.
@pytest.mark.parametrize(
    ("proportion", "confidence", "readings"),
    [(0.90, 0.95, 29), (0.95, 0.90, 45), (0.99, 0.95, 299)],
)
def test_wilks_first_order(proportion, confidence, readings):
    assert readings_needed(proportion=proportion, confidence=confidence) == readings


# Hypergeometric, computed independently: no bad place, 95 % sure of at most 5 %.
@pytest.mark.parametrize(("total", "checks"), [(100, 39), (200, 47), (1000, 56)])
def test_finite_roofs(total, checks):
    assert checks_needed_of(total) == checks
