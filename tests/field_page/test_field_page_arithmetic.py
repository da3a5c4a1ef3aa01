"""The phone says what the register will say: its arithmetic against the pure rooms."""

from __future__ import annotations

from math import inf

import numpy as np
import psychrolib
import pytest

from fleet.film.acceptance import SpotReading, judge_coat
from fleet.film.build import NotchPolicy, dry_film_from_wet, wet_at_policy
from fleet.film.units import MIL_UM
from fleet.site.climate import ClimateLimits, climate_codes, dew_point_c
from fleet.site.cure import recoat_window
from fleet.site.moisture import BAND_OF_CODE, moisture_bands

pytestmark = [pytest.mark.browser, pytest.mark.slow]


class TestDewPoint:
    # Printed tables, and two engines (psychrolib 2.5; Magnus 17.62/243.12, WMO-No. 8).
    @pytest.mark.parametrize(
        ("air_c", "rh_pct", "dew_c"),
        [(25, 50, 13.85), (20, 85, 17.40), (10, 70, 4.78), (40, 20, 12.78)],
    )
    def test_agrees_with_the_printed_table(self, ask, air_c, rh_pct, dew_c):
        assert ask("climate.js", "dewPointC", air_c, rh_pct) == pytest.approx(
            dew_c, abs=0.01
        )

    def test_agrees_with_ashrae_above_freezing(self, ask):
        psychrolib.SetUnitSystem(psychrolib.SI)
        for air_c in (3, 15, 27, 39):
            for rh_pct in (35, 60, 95):
                ashrae_c = psychrolib.GetTDewPointFromRelHum(air_c, rh_pct / 100)
                if ashrae_c > 0:
                    assert ask("climate.js", "dewPointC", air_c, rh_pct) == (
                        pytest.approx(ashrae_c, abs=0.05)
                    )

    def test_is_the_registers_own(self, ask):
        for air_c, rh_pct in ((-10.0, 80.0), (33.3, 41.5), (18.0, 100.0)):
            assert ask("climate.js", "dewPointC", air_c, rh_pct) == pytest.approx(
                dew_point_c(air_c, rh_pct), abs=1e-12
            )

    @pytest.mark.parametrize("rh_pct", [0, -5, 101])
    def test_says_nothing_of_an_impossible_humidity(self, ask, rh_pct):
        assert ask("climate.js", "dewPointC", 20, rh_pct) == "NaN"


class TestClimate:
    LIMITS = {"airMinC": 10, "airMaxC": 35, "rhMaxPct": 85, "dewMarginC": 3}

    def test_judges_as_the_register_does(self, ask):
        chance = np.random.default_rng(7)
        rows = [
            (chance.uniform(5, 40), chance.uniform(0, 60), chance.uniform(20, 100))
            for _ in range(200)
        ]
        air, surface, rh = (np.array(column) for column in zip(*rows, strict=True))
        limits = ClimateLimits(air_min_c=10.0, air_max_c=35.0, rh_max_pct=85.0)
        codes = climate_codes(air_c=air, surface_c=surface, rh_pct=rh, limits=limits)

        told = [
            ask(
                "climate.js",
                "judgeClimate",
                {"airC": a, "surfaceC": s, "rhPct": h},
                self.LIMITS,
            )["verdict"]
            for a, s, h in rows
        ]

        assert told == [["UNKNOWN", "MET", "NOT_MET"][code] for code in codes]
        assert {"MET", "NOT_MET"} <= set(told)

    def test_a_margin_of_exactly_three_passes(self, ask):
        # ISO 8502-4 guidance, for steel: 3 °C and not 5 °F.
        surface_c = dew_point_c(25.0, 50.0) + 3

        told = ask(
            "climate.js",
            "judgeClimate",
            {"airC": 25, "surfaceC": surface_c, "rhPct": 50},
            self.LIMITS,
        )

        assert told["verdict"] == "MET"

    def test_a_missing_reading_is_unknown(self, ask):
        told = ask(
            "climate.js",
            "judgeClimate",
            {"airC": 25, "surfaceC": None, "rhPct": 50},
            self.LIMITS,
        )

        assert told["verdict"] == "UNKNOWN"


class TestFilm:
    COAT = {"dry_min_um": "254.0000", "dry_max_um": "304.8000"}

    # Decision vectors for 10 to 12 mil, SSPC-PA 2 levels 1 to 5 (L2, L4, L5 from
    # memory): see the reference tests of the film room.
    @pytest.mark.parametrize(
        ("spots", "verdicts"),
        [
            ((10, 10.5, 11, 9, 12), "FFPPP"),
            ((8, 11, 11, 10, 10), "FFPPP"),
            ((14.4, 10, 10, 10, 10), "FPPPP"),
            ((8.4, 9.6, 10, 10.2, 10.8), "FFFFF"),
        ],
    )
    def test_levels_decide_as_published(self, ask, spots, verdicts):
        readings = [
            {"area": 1, "spot": spot, "mil": mil}
            for spot, mil in enumerate(spots, 1)
            for _ in range(3)
        ]
        told = ""
        for level in range(1, 6):
            limits = {
                name: float(value) if value in ("Infinity", "-Infinity") else value
                for name, value in ask(
                    "film.js", "filmLimits", self.COAT, level
                ).items()
            }
            judged = self.judged(ask, readings, limits, areas=1)
            told += "P" if judged["verdict"] == "MET" else "F"

        assert told == verdicts

    def judged(self, ask, readings, limits, *, areas):
        finite = {
            name: max(min(value, 1e300), -1e300) for name, value in limits.items()
        }
        return ask(
            "film.js", "judgeCoat", readings, {"limits": finite, "areasRequired": areas}
        )

    def test_spots_areas_and_verdict_are_the_registers(self, ask):
        chance = np.random.default_rng(11)
        seen = set()
        for _ in range(40):
            areas = int(chance.choice([1, 2, 3]))
            usual_mil = chance.choice([9.8, 11, 11, 12.1])
            readings = [
                SpotReading(
                    area=area, spot=spot, dry_mil=float(chance.normal(usual_mil, 0.7))
                )
                for area in range(1, areas + 1)
                for spot in range(1, chance.choice([6, 6, 6, 5]))
                for _ in range(chance.choice([3] * 28 + [2, 4]))
            ]
            ours = judge_coat(
                readings, dry_min_mil=10, dry_max_mil=12, areas_required=areas
            )
            limits = {"spotLow": 8, "spotHigh": 14.4, "areaLow": 10, "areaHigh": 12}

            told = self.judged(
                ask,
                [{"area": r.area, "spot": r.spot, "mil": r.dry_mil} for r in readings],
                limits,
                areas=areas,
            )

            assert told["verdict"] == ours.verdict.value
            assert [s["verdict"] for s in told["spots"]] == [
                s.verdict.value for s in ours.spots
            ]
            assert [s["mean"] for s in told["spots"]] == pytest.approx(
                [s.mean_mil for s in ours.spots]
            )
            assert told["completeAreas"] == ours.complete_areas
            seen.add(told["verdict"])
        assert seen == {"MET", "NOT_MET", "UNKNOWN"}

    @pytest.mark.parametrize("policy", list(NotchPolicy))
    def test_a_notch_leaves_the_registers_dry_film(self, ask, policy):
        wet_um = wet_at_policy(711.2, 762.0, policy=policy)
        ours = dry_film_from_wet(wet_um, volume_solids=0.52, thinner_ratio=0.1)

        told = ask(
            "film.js",
            "dryMil",
            711.2,
            762.0,
            {"solids": 0.52, "thinner": 0.1, "policy": policy.name},
        )

        assert told == pytest.approx(ours / MIL_UM)


class TestRecoat:
    # t = t20 * 2^((20 - T) / 10): 24 h is 48 h at 10 °C, 12 h at 30 °C (experience
    # rule of a published coatings encyclopaedia).
    @pytest.mark.parametrize(
        ("temp_c", "hours"), [(10, 48), (15, 33.94), (25, 16.97), (30, 12), (5, 67.88)]
    )
    def test_the_rate_doubles_for_each_ten_degrees(self, ask, temp_c, hours):
        told = ask("recoat.js", "cureHours", 24, temp_c, {"minimumC": 0})

        assert told == pytest.approx(hours, abs=0.005)

    def test_the_window_is_the_registers(self, ask):
        for temp_c in (4.0, 12.0, 20.0, 33.0):
            for elapsed_h in (1.0, 6.0, 20.0, 80.0, 130.0):
                ours = recoat_window(
                    elapsed_h,
                    temp_c=temp_c,
                    sheet_min_h=8,
                    sheet_max_h=96,
                    minimum_c=10,
                )
                told = ask(
                    "recoat.js",
                    "recoatWindow",
                    elapsed_h,
                    {"tempC": temp_c, "minHours": 8, "maxHours": 96, "minimumC": 10},
                )
                assert told["state"] == ours.state.value
                if ours.earliest_h != inf:
                    assert told["earliest"] == pytest.approx(ours.earliest_h)


def test_deck_bands_are_the_registers(ask):
    pct = [0, 12.5, 19, 19.1, 29.9, 30, 55]
    ours = [BAND_OF_CODE[code] for code in moisture_bands(np.array(pct, dtype=float))]

    told = [ask("deck.js", "deckBand", value) for value in pct]

    assert told == [band.value if band else None for band in ours]
