"""A verdict from a day on, with its sentence, its cure and its records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleet.film.verdict import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedVerdict:
    """What the records say from ``from_on`` until the next verdict."""

    from_on: date
    verdict: Verdict
    because: str
    cure: str = ""
    evidence: tuple[str, ...] = ()


def changes(verdicts: list[DatedVerdict]) -> tuple[DatedVerdict, ...]:
    """Return day-ordered verdicts, one a day, without those that repeat the last."""
    kept: list[DatedVerdict] = []
    for verdict in verdicts:
        same_day = bool(kept) and kept[-1].from_on == verdict.from_on
        if same_day:
            kept[-1] = verdict
        elif not kept or (kept[-1].verdict, kept[-1].because) != (
            verdict.verdict,
            verdict.because,
        ):
            kept.append(verdict)
    return tuple(kept)
