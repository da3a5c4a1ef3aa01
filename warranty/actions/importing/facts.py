"""Per table of facts: its ledger entry, what makes two rows differ, what is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from fleet.models import (
    ClimateReading,
    CoachDescription,
    CoatLog,
    Cure,
    FilmReading,
    Finding,
    Installation,
    Ownership,
    Penetration,
    Record,
    Retirement,
    Visit,
)
from warranty.models import ClaimReport, Registration, TermsAssignment


@dataclass(frozen=True, slots=True, kw_only=True)
class FactTable:
    """How facts of one table are told apart and corrected."""

    kind: str  # of the ledger entry
    compared: tuple[str, ...]
    # What a workbook does not tell and a correction must not lose.
    kept: tuple[str, ...] = ()
    # A compared field and the column that a person knows it by.
    columns: Mapping[str, str] = field(default_factory=dict)


TABLES: Final[dict[type[Record], FactTable]] = {
    CoachDescription: FactTable(
        kind="coach",
        compared=(
            "vin",
            "model_year",
            "make",
            "model",
            "body",
            "length_m",
            "width_m",
            "town",
            "state",
        ),
        kept=("time_zone", "happened_on"),
        columns={"model_year": "year"},
    ),
    Ownership: FactTable(kind="coach", compared=("owner", "from_on")),
    Retirement: FactTable(kind="coach", compared=("retired_on",)),
    Installation: FactTable(
        kind="installation",
        compared=("system", "substrate", "started_on", "completed_on"),
    ),
    TermsAssignment: FactTable(
        kind="terms",
        compared=("edition", "happened_on"),
        columns={"edition": "terms"},
    ),
    Registration: FactTable(kind="registration", compared=("registered_on",)),
    CoatLog: FactTable(
        kind="coats",
        compared=("lot", "volume_ml", "happened_on"),
        kept=("thinner_ratio",),
    ),
    Penetration: FactTable(
        kind="penetrations",
        compared=(
            "kind",
            "x_m",
            "y_m",
            "width_m",
            "length_m",
            "is_detailed",
            "happened_on",
        ),
        columns={"is_detailed": "detailed"},
    ),
    ClimateReading: FactTable(
        kind="climate",
        compared=("offset_minutes", "air_c", "surface_c", "rh_ratio"),
    ),
    FilmReading: FactTable(
        kind="film",
        compared=("last_wet_um", "first_dry_um", "unit", "happened_on"),
    ),
    Visit: FactTable(
        kind="visit",
        compared=("kind", "happened_on", "technician", "result", "note", "shop"),
    ),
    Finding: FactTable(
        kind="findings",
        compared=("happened_on", "severity", "note"),
        kept=("cause", "penetration_label", "x_m", "y_m"),
        columns={"note": "finding"},
    ),
    Cure: FactTable(kind="cures", compared=("finding", "happened_on")),
    ClaimReport: FactTable(
        kind="claim",
        compared=("noticed_on", "reported_on", "description", "estimate_cents"),
        kept=("currency", "penetration_label", "x_m", "y_m"),
        columns={"estimate_cents": "estimate_usd"},
    ),
}
# Rows that others name come first: a flush writes the tables in this order.
ENTRY_ORDER: Final = tuple(dict.fromkeys(table.kind for table in TABLES.values()))
# A reading's place is a worksheet's second thought: kept where the file has none.
PLACE: Final = ("x_m", "y_m")
