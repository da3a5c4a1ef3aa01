"""Visits of the demo with what was found and cured at them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import partial

from fleet.actions.recording import Recording
from fleet.models import Cure, Finding, Penetration, Roof, Severity, Technician, Visit
from warranty.demo.chance import Chance
from warranty.demo.course import Course
from warranty.demo.diary import Diary
from warranty.demo.plan import RoofPlan
from warranty.demo.words import INSPECTORS, REPAIRS, SERIOUS_FINDINGS, SMALL_FINDINGS


@dataclass(slots=True, kw_only=True)
class RoofStory:
    """One roof while its history is made up."""

    plan: RoofPlan
    roof: Roof
    course: Course
    until: date  # nothing is visited after it
    diary: Diary
    chance: Chance
    technicians: dict[str, Technician]
    penetrations: list[Penetration] = field(default_factory=list)
    visits: int = 0

    def visit(
        self,
        on: date,
        kind: str,
        result: str = "NONE",
        *,
        by: str = "",
        note: str = "",
        after_days: int | None = None,
        findings: Sequence[Finding] = (),
        cured: Sequence[Finding] = (),
    ) -> Visit:
        """Note a visit with what was found and what it cured."""
        self.visits += 1
        visit = Visit(
            uuid=self.chance.uuid(),
            ref=f"{self.roof.coach.unit_no}-{self.roof.roof_no}{self.visits:02d}",
            kind=kind,
            happened_on=on,
            result=result,
            technician=self.technicians[by or self.chance.pick(INSPECTORS)],
            note=self.chance.text(note) if note else None,
        )
        for found in findings:
            found.visit = visit
        cures = [
            Cure(uuid=self.chance.uuid(), finding=found, visit=visit, happened_on=on)
            for found in cured
        ]
        write = partial(_append_visit, self.roof, visit, tuple(findings), tuple(cures))
        self.diary.note(on, write, after_days=after_days)
        return visit

    def small_finding(self, on: date) -> Finding:
        """Return something that is worth a line and no repair."""
        cause, note = self.chance.pick(SMALL_FINDINGS)
        severity = Severity.MINOR if self.chance.happens(0.4) else Severity.NOTE
        return self._finding(on, severity, cause, note)

    def serious_finding(self, on: date, at: Penetration | None = None) -> Finding:
        """Return something that has to be repaired in time."""
        cause, note = self.chance.pick(SERIOUS_FINDINGS)
        return self._finding(on, Severity.SERIOUS, cause, note, at)

    def minor_finding(self, on: date, at: Penetration | None = None) -> Finding:
        """Return a leak's trace that the clauses do not count."""
        cause, note = self.chance.pick(SERIOUS_FINDINGS)
        return self._finding(on, Severity.MINOR, cause, note, at)

    def repair(self, on: date, cured: Sequence[Finding]) -> Visit:
        """Note a repair that cures findings."""
        return self.visit(on, "REPAIR", note=self.chance.pick(REPAIRS), cured=cured)

    def _finding(
        self,
        on: date,
        severity: str,
        cause: str,
        note: str,
        at: Penetration | None = None,
    ) -> Finding:
        place = at or self.chance.pick(self.penetrations)
        return Finding(
            uuid=self.chance.uuid(),
            happened_on=on,
            severity=severity,
            cause=cause,
            penetration_label=place.label,
            x_m=place.x_m,
            y_m=place.y_m,
            note=self.chance.text(note),
        )


def _append_visit(
    roof: Roof,
    visit: Visit,
    findings: tuple[Finding, ...],
    cures: tuple[Cure, ...],
    made: Recording,
) -> None:
    made.append(roof, "visit", [visit])
    made.append(roof, "findings", findings)
    made.append(roof, "cures", cures)
