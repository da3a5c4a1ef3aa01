"""Stored decisions replay byte for byte under every version that is kept.

When a golden case fails, a clause or a sentence has changed: raise RULE_VERSION, keep
the old engine under its number in RULES, and write the new version's file down
(``python -m tests.rules.golden.write``).
"""

from __future__ import annotations

import json

import pytest

from tests.rules.golden.write import path_of
from warranty.rules import decision, look
from warranty.rules.clause import CLAUSES, Clause, Standing, Verdict
from warranty.rules.decision import RULES, results_text
from warranty.rules.version import RULE_VERSION


def golden(version: str) -> list[dict[str, str]]:
    return [json.loads(line) for line in path_of(version).read_text().splitlines()]


def changed_cases(version: str) -> list[int]:
    return [
        place
        for place, case in enumerate(golden(version))
        if results_text(version, case["inputs"]) != case["results"]
    ]


@pytest.mark.parametrize("version", sorted(RULES))
def test_each_version_says_byte_for_byte_what_it_said(version):
    assert changed_cases(version) == []


def test_every_version_written_down_is_kept():
    written = {path.stem.removeprefix("version-") for path in _files()}

    assert written == set(RULES)
    assert RULE_VERSION in written


@pytest.mark.parametrize("version", sorted(RULES))
def test_the_cases_meet_every_clause_and_standing(version):
    told = [json.loads(case["results"]) for case in golden(version)]
    met = {(c["clause"], c["verdict"]) for each in told for c in each["clauses"]}
    # A clause that follows dates alone always has an answer.
    dated = {Clause.INSPECTIONS, Clause.SERIOUS_FINDINGS, Clause.COACH, Clause.TERM}
    expected = {
        (clause.value, verdict.value)
        for clause in CLAUSES
        for verdict in Verdict
        if verdict is not Verdict.UNKNOWN or clause not in dated
    }

    assert met >= expected
    assert {each["standing"] for each in told} == {word.value for word in Standing}
    assert any(c["waived"] for each in told for c in each["clauses"])


def test_a_changed_sentence_is_seen(monkeypatch):
    said = RULES[RULE_VERSION]
    other = decision.Rules(
        judge=said.judge,
        inputs=said.inputs,
        results=lambda found: said.results(found) | {"next_due_on": None},
    )
    monkeypatch.setitem(decision.RULES, RULE_VERSION, other)

    assert changed_cases(RULE_VERSION) != []


@pytest.mark.parametrize("name", ["steps", "holder", "registered", "coach", "term"])
def test_a_clause_that_judges_a_day_otherwise_is_seen(monkeypatch, name):
    real = getattr(look, f"judge_{name}")

    def judge(*asked):
        return real(*asked[:-1], asked[-1] + 1)

    monkeypatch.setattr(look, f"judge_{name}", judge)

    assert changed_cases(RULE_VERSION) != []


def _files():
    return path_of(RULE_VERSION).parent.glob("version-*.jsonl")
