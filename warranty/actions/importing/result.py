"""What an import found and did, small and typed, and as JSON."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from enum import Enum
from typing import Any

from warranty.workbook.errors import RowRefused

# Counts are exact; a list beyond this length is cut and says how much was left off.
MOST_LISTED = 10_000


class Outcome(Enum):
    """What became of one fact that a row tells."""

    NEW = "new"
    UNCHANGED = "unchanged"
    CORRECTED = "corrected"


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedRow:
    """One row that stayed out, and why."""

    file: str
    row: int  # as a spreadsheet numbers it; 0 in a JSON file
    key: str
    column: str
    value: str
    code: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """Something odd that went in all the same."""

    file: str
    row: int
    key: str
    column: str
    value: str
    code: str
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectedValue:
    """One value on record and what the workbook says instead."""

    file: str
    row: int
    key: str
    column: str
    old: str
    new: str


@dataclass(slots=True, kw_only=True)
class SheetCount:
    """What became of one sheet's rows. ``repeated`` rows say what another has said."""

    new: int = 0
    unchanged: int = 0
    corrected: int = 0
    repeated: int = 0
    refused: int = 0
    warnings: int = 0


@dataclass(slots=True, kw_only=True)
class ImportResult:
    """What a check found, or a commit did."""

    committed: bool
    sheets: dict[str, SheetCount] = field(
        default_factory=lambda: defaultdict(SheetCount)
    )
    facts: int = 0  # new rows of facts, corrections among them
    refused: list[RefusedRow] = field(default_factory=list)
    warnings: list[Notice] = field(default_factory=list)
    corrections: list[CorrectedValue] = field(default_factory=list)
    corrections_count: int = 0

    @property
    def refused_count(self) -> int:
        """Return how many rows stayed out."""
        return sum(count.refused for count in self.sheets.values())

    @property
    def warnings_count(self) -> int:
        """Return how many warnings there are."""
        return sum(count.warnings for count in self.sheets.values())

    def refuse(self, sheet: str, row: int, key: str, why: RowRefused) -> None:
        """Count and list a row that stays out."""
        self.sheets[sheet].refused += 1
        if len(self.refused) < MOST_LISTED:
            self.refused.append(
                RefusedRow(
                    file=sheet,
                    row=row,
                    key=key,
                    column=why.column,
                    value=why.value,
                    code=why.code,
                    reason=why.reason,
                )
            )

    def warn(
        self,
        sheet: str,
        row: int,
        key: str,
        *,
        code: str,
        message: str,
        column: str = "",
        value: str = "",
    ) -> None:
        """Count and list something odd."""
        self.sheets[sheet].warnings += 1
        if len(self.warnings) < MOST_LISTED:
            self.warnings.append(
                Notice(
                    file=sheet,
                    row=row,
                    key=key,
                    column=column,
                    value=value[:80],
                    code=code,
                    message=message,
                )
            )

    def correct(self, changed: Iterable[CorrectedValue]) -> None:
        """Count and list values that a row changes."""
        for value in changed:
            self.corrections_count += 1
            if len(self.corrections) < MOST_LISTED:
                self.corrections.append(value)

    def count(self, sheet: str, outcomes: Iterable[Outcome]) -> None:
        """Count a row by what became of the facts it tells."""
        seen = set(outcomes)
        count = self.sheets[sheet]
        if seen == {Outcome.NEW}:
            count.new += 1
        elif seen <= {Outcome.UNCHANGED}:
            count.unchanged += 1
        else:
            count.corrected += 1

    def as_json(self, *, most: int = MOST_LISTED) -> dict[str, Any]:
        """Return the result as it is sent: lists are cut, counts are not."""
        return {
            "committed": self.committed,
            "facts": self.facts,
            "sheets": {name: asdict(count) for name, count in self.sheets.items()},
            "refused_count": self.refused_count,
            "refused": [asdict(row) for row in self.refused[:most]],
            "warnings_count": self.warnings_count,
            "warnings": [asdict(row) for row in self.warnings[:most]],
            "corrections_count": self.corrections_count,
            "corrections": [asdict(value) for value in self.corrections[:most]],
        }
