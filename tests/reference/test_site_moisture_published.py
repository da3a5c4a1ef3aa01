"""Equilibrium moisture of wood against the Wood Handbook's table."""

from __future__ import annotations

import pytest

from fleet.site.moisture import equilibrium_moisture_pct


# Wood Handbook FPL-GTR-282, 70 °F (from memory; both published coefficient sets agree).
@pytest.mark.parametrize(
    ("rh_pct", "moisture_pct"), [(50, 9.2), (65, 12.0), (80, 16.0), (90, 20.5)]
)
def test_seventy_fahrenheit(rh_pct, moisture_pct):
    result = equilibrium_moisture_pct((70 - 32) / 1.8, float(rh_pct))

    assert result == pytest.approx(moisture_pct, abs=0.1)
