"""The page's plan, pad, ids, numbers and words."""

from __future__ import annotations

import re
from collections import Counter

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_five_spots_of_an_area_lie_in_its_strip_and_on_the_roof(ask):
    for area in (1, 2, 3):
        for spot in range(1, 6):
            place = ask(
                "plan.js",
                "suggestedPlace",
                {"area": area, "spot": spot, "areas": 3, "lengthM": 9.9, "widthM": 2.4},
            )
            assert (area - 1) * 3.3 < place["x"] < area * 3.3
            assert 0 < place["y"] < 2.4


@pytest.mark.parametrize(
    ("target_um", "unit", "target"), [(711.2, "mil", 28), (700, "um", 700)]
)
def test_the_pad_has_sixteen_teeth_around_the_target(ask, target_um, unit, target):
    teeth = ask("gauge.js", "teethAround", target_um, unit)

    assert len(teeth) == 16
    assert target in teeth
    assert teeth == sorted(set(teeth))


def test_no_key_lies_outside_a_gauge(ask):
    # ASTM D4414-95(2020), scope: 3 um to 2500 um over both kinds.
    teeth = ask("gauge.js", "teethAround", 25.4, "mil")

    assert min(teeth) * 25.4 >= 3


def test_ids_are_version_seven_and_in_order_of_time(ask):
    ids = [ask("ids.js", "uuid7", moment) for moment in (1, 1_000, 1_790_000_000_000)]

    assert ids == sorted(ids)
    shape = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-.{12}")
    assert all(shape.fullmatch(one) for one in ids)


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("12.5", "12.5"),
        (" 12,5 ", "12.5"),
        ("007", "7"),
        ("-3", "-3"),
        (".5", "0.5"),
        ("5.", "5"),
        ("", None),
        ("1.2.3", None),
        ("12 mil", None),
        ("1e3", None),
    ],
)
def test_a_typed_number_travels_as_it_was_read(ask, typed, number):
    assert ask("units.js", "typedNumber", typed) == number


def test_both_languages_have_every_word(ask):
    tables = ask("words.js", "TABLES")

    assert tables["en"].keys() == tables["es"].keys()
    for key, english in tables["en"].items():
        named = re.compile(r"\{\w+\}")
        spanish = tables["es"][key]
        assert Counter(named.findall(english)) == Counter(named.findall(spanish)), key
        assert spanish.strip(), key


def test_every_stage_question_hold_and_caution_has_its_words(ask):
    words = ask("words.js", "TABLES")["en"]
    for kind, stages in ask("steps.js", "STAGES").items():
        assert f"kind.{kind}" in words
        for stage in stages:
            wanted = [f"stage.{stage['code']}", *stage["checks"]]
            wanted += [f"caution.{one}" for one in stage["cautions"]]
            wanted += [f"tool.{one}" for one in stage["tools"]]
            wanted += [f"lack.{one}" for one in stage["needs"]]
            wanted += [stage["hold"]] if stage["hold"] else []
            assert [one for one in wanted if one not in words] == []


def test_step_codes_fit_the_registers_column(ask):
    for stages in ask("steps.js", "STAGES").values():
        for stage in stages:
            assert all(len(step) <= 60 for step in stage["checks"])


def test_no_caution_claims_that_a_law_applies_to_a_coach_roof(ask):
    # 29 CFR 1926.500(b) leaves vehicles out: advice, never a claim of law.
    for table in ask("words.js", "TABLES").values():
        for key, words in table.items():
            if key.startswith("caution."):
                assert not re.search(r"OSHA|required by law|la ley exige", words)
