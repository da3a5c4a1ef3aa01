"""Replay an edition over coverages, batch by batch, touching nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from itertools import islice
from typing import Final

from django.db.models import QuerySet

from fleet.models import Owner, Roof
from warranty.models import Edition
from warranty.rules.clause import CLAUSES, OFF_CODE, STANDINGS, VERDICT_OF_CODE
from warranty.rules.comparison import VERDICT_CODES, Tally, compare
from warranty.selectors.facts import CoverageFacts, coverage_facts
from warranty.selectors.standings import Assessed, assess_facts

BATCH_ROOFS: Final = 500
MOST_LISTED: Final = 500
NOT_IN_EDITION: Final = "NOT_IN_EDITION"


@dataclass(slots=True, kw_only=True)
class Replay:
    """What an edition would change, summed over the batches taken so far."""

    edition: Edition
    as_of: date
    known_at: datetime
    roofs: int = 0
    tally: Tally = field(default_factory=Tally)
    listed: list[dict[str, object]] = field(default_factory=list)

    def take(self, roof_ids: list[int]) -> None:
        """Replay the edition over one batch of roofs."""
        found = list(coverage_facts(roof_ids, known_at=self.known_at).values())
        if not found:
            return
        days = [self.as_of] * len(found)
        before = assess_facts(found, days)
        after = assess_facts([under(each, self.edition) for each in found], days)
        changes = compare(before.assessment, after.assessment)
        self.roofs += len(found)
        self.tally.add(changes)
        room = MOST_LISTED - len(self.listed)
        for row in changes.is_changed.nonzero()[0][:room]:
            self.listed.append(_changed_roof(found[row], before, after, int(row)))

    def report(self) -> dict[str, object]:
        """Return the whole answer as plain values."""
        return {
            "edition": str(self.edition.uuid),
            "code": self.edition.code,
            "version": self.edition.version,
            "as_of": self.as_of.isoformat(),
            "known_at": self.known_at.isoformat(),
            "roofs": self.roofs,
            "changed": self.tally.changed,
            "standings": list(_standing_moves(self.tally)),
            "clauses": list(_clause_moves(self.tally)),
            "changed_roofs": self.listed,
        }


def under(coverage: CoverageFacts, edition: Edition) -> CoverageFacts:
    """Return the coverage as if it had been promised under another edition."""
    return replace(coverage, promise=replace(coverage.promise, edition=edition))


def promised_roofs(owner: Owner | None) -> QuerySet[Roof, int]:
    """Return the ids of the roofs that are promised, or of one owner's."""
    roofs = Roof.objects.filter(coverage__isnull=False)
    if owner is not None:
        roofs = roofs.filter(coach__holder=owner)
    return roofs.order_by("pk").values_list("pk", flat=True)


def batches(roof_ids: QuerySet[Roof, int]) -> Iterator[list[int]]:
    """Yield ids a batch at a time."""
    found = roof_ids.iterator(chunk_size=2000)
    while batch := list(islice(found, BATCH_ROOFS)):
        yield batch


def _verdict_word(code: int) -> str:
    return NOT_IN_EDITION if code == OFF_CODE else VERDICT_OF_CODE[code].value


def _changed_roof(
    coverage: CoverageFacts, before: Assessed, after: Assessed, row: int
) -> dict[str, object]:
    old, new = before.assessment, after.assessment
    return {
        "roof": str(coverage.records.roof.uuid),
        "unit_no": coverage.records.roof.coach.unit_no,
        "from": STANDINGS[old.standing[row]].value,
        "to": STANDINGS[new.standing[row]].value,
        "clauses": [
            {
                "clause": clause.value,
                "from": _verdict_word(old.verdict[row, c]),
                "to": _verdict_word(new.verdict[row, c]),
            }
            for c, clause in enumerate(CLAUSES)
            if old.verdict[row, c] != new.verdict[row, c]
        ],
    }


def _standing_moves(tally: Tally) -> Iterator[dict[str, object]]:
    for i, old in enumerate(STANDINGS):
        for j, new in enumerate(STANDINGS):
            if tally.standings[i, j]:
                count = int(tally.standings[i, j])
                yield {"from": old.value, "to": new.value, "roofs": count}


def _clause_moves(tally: Tally) -> Iterator[dict[str, object]]:
    for c, clause in enumerate(CLAUSES):
        for i in range(VERDICT_CODES):
            for j in range(VERDICT_CODES):
                count = int(tally.clauses[c, i, j])
                if i != j and count:
                    yield {
                        "clause": clause.value,
                        "from": _verdict_word(i),
                        "to": _verdict_word(j),
                        "roofs": count,
                    }
