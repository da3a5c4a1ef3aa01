"""``manage.py standings``: what each roof's promise is worth on a day."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import date, datetime
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from fleet.civil import office_day
from warranty.management.parsing import day, moment
from warranty.selectors.explanations import RoofExplanation, explanations_of
from warranty.selectors.standings import roofs_with_a_promise

BATCH_ROOFS = 500


class Command(BaseCommand):
    help = (
        "Print the standing of every roof completed by a day, one JSON object a line."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--as-of", type=day, help="the day asked; today by default")
        parser.add_argument(
            "--known-at", type=moment, help="only what was recorded by then; now"
        )
        parser.add_argument(
            "--json", action="store_true", help="one JSON object a line"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        as_of: date = options["as_of"] or office_day(now)
        known_at: datetime = options["known_at"] or now
        batch: list[int] = []
        for roof_id in roofs_with_a_promise():
            batch.append(roof_id)
            if len(batch) == BATCH_ROOFS:
                self._print(batch, as_of, known_at, as_json=options["json"])
                batch = []
        self._print(batch, as_of, known_at, as_json=options["json"])

    def _print(
        self, batch: list[int], as_of: date, known_at: datetime, *, as_json: bool
    ) -> None:
        for answer in explanations_of(batch, as_of=as_of, known_at=known_at):
            completed_on = answer.coverage.facts.completed_on
            if completed_on is None or completed_on > as_of:
                continue
            line = as_line(answer)
            self.stdout.write(
                json.dumps(line, ensure_ascii=False) if as_json else as_text(line)
            )


def as_line(answer: RoofExplanation) -> dict[str, Any]:
    """Return one roof's answer as it is printed."""
    roof = answer.coverage.records.roof
    explained = answer.explanation
    line: dict[str, Any] = {"unit_no": roof.coach.unit_no}
    if roof.roof_no > 1:
        line["roof_no"] = roof.roof_no
    return line | {
        "standing": explained.standing.value,
        "next_due_on": _iso(explained.next_due_on),
        "holds_until": _iso(explained.holds_until),
        "clauses": {
            result.clause.value: {
                "verdict": result.verdict.value,
                "because": result.because,
                "cure": result.cure,
            }
            for result in explained.results
        },
    }


def as_text(line: dict[str, Any]) -> str:
    """Return one roof's answer for a person to read."""
    unmet = [
        f"{code} ({clause['verdict']})"
        for code, clause in line["clauses"].items()
        if clause["verdict"] != "MET"
    ]
    due = line["next_due_on"] or "none"
    text = f"{line['unit_no']:<12} {line['standing']:<10} due {due:<10}"
    return f"{text} {', '.join(unmet)}".rstrip()


def _iso(value: date | None) -> str | None:
    return None if value is None else value.isoformat()
