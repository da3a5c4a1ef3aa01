"""Write down what today's version of the rules says: once, when it is new.

    python -m tests.rules.golden.write

A file that is there is never written again: it is what old decisions are held to.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from fleet.ledger.canonical import canonical_json
from tests.rules.histories import FIRST, SPAN_DAYS, random_roof, random_terms
from warranty.rules.decision import inputs_text, results_text
from warranty.rules.explain import explain
from warranty.rules.roof_facts import RoofFacts
from warranty.rules.terms import Terms
from warranty.rules.version import RULE_VERSION

FOLDER = Path(__file__).parent
TRIED = 4000
EDGES = 2  # of each clause, the last day of an answer and the one after


def path_of(version: str) -> Path:
    """Return the file of one version: a line of canonical JSON for each case."""
    return FOLDER / f"version-{version}.jsonl"


def cases() -> Iterator[str]:
    """Yield cases until each kind of answer was met, and each clause's edge days."""
    rng, met, edges = np.random.default_rng(20260601), set[str](), dict[str, int]()
    for _ in range(TRIED):
        terms = random_terms(rng)
        roof = _referenced(random_roof(rng, terms, 0))
        on = FIRST + timedelta(days=int(rng.integers(SPAN_DAYS + 400)))
        said = explain(terms, roof, on)
        kinds = {
            f"{each.clause} {each.verdict} {each.waived} "
            f"{_undated(each.because)} {_undated(each.cure)}"
            for each in said.results
        } | {said.standing.value}
        if kinds - met:
            met |= kinds
            yield _case(terms, roof, on)
        for each in said.results:
            last = each.holds_until
            if last is not None and edges.get(each.clause, 0) < EDGES:
                edges[each.clause] = edges.get(each.clause, 0) + 1
                yield _case(terms, roof, last)
                yield _case(terms, roof, last + timedelta(days=1))


def _case(terms: Terms, roof: RoofFacts, on: date) -> str:
    inputs = inputs_text(terms, roof, on)
    results = results_text(RULE_VERSION, inputs)
    return canonical_json({"inputs": inputs, "results": results})


def _undated(text: str) -> str:
    return re.sub(r"\d+", "0", text)


def _referenced(roof: RoofFacts) -> RoofFacts:
    """Return the roof with records that have names, so that evidence is named too."""
    return replace(
        roof,
        registered_reference="registration 1",
        retired_reference="retirement 1",
        visits=tuple(
            replace(v, reference=f"visit {n}") for n, v in enumerate(roof.visits)
        ),
        findings=tuple(
            replace(f, reference=f"finding {n}", text="Split at the front cap.")
            for n, f in enumerate(roof.findings)
        ),
        waivers=tuple(
            replace(w, reference=f"waiver {n}", why="Seen by the office.")
            for n, w in enumerate(roof.waivers)
        ),
    )


def main() -> int:
    """Write the file of today's version, unless it is there."""
    path = path_of(RULE_VERSION)
    if path.exists():
        sys.stderr.write(f"{path.name} is there. Raise RULE_VERSION for new rules.\n")
        return 1
    path.write_text("".join(f"{case}\n" for case in cases()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
