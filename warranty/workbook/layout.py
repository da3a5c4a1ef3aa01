"""The sheets of a workbook and their columns: one table, read by everything else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLayout:
    """One sheet: what it is called, which columns it must and may have."""

    name: str
    required: tuple[str, ...]
    optional: tuple[str, ...] = ()

    @property
    def columns(self) -> tuple[str, ...]:
        """Return all columns, required ones first."""
        return self.required + self.optional


_WEATHER: Final = ("air_min_c", "air_max_c", "rh_max", "dew_margin_c")

SYSTEMS: Final = SheetLayout(
    name="systems", required=("code", "title", "substrates"), optional=_WEATHER
)
COATS: Final = SheetLayout(
    name="coats",
    required=("system", "role", "wet_target_mil", "volume_solids"),
    optional=("dry_min_mil", "dry_max_mil", "product", *_WEATHER),
)
TERMS: Final = SheetLayout(
    name="terms",
    required=(
        "code",
        "title",
        "owner_kind",
        "anchor",
        "interval_months",
        "window_days",
        "grace_days",
        "reinstatement_days",
        "registration_days",
        "serious_cure_days",
    ),
    optional=(
        "term_months",
        "designation",
        "life_of",
        "inspections_free",
        "requires_dry_deck",
        "forbids_alterations",
    ),
)
COACHES: Final = SheetLayout(
    name="coaches",
    required=("unit_no", "length_ft", "width_ft", "substrate", "owner", "owner_kind"),
    optional=(
        "vin",
        "year",
        "make",
        "model",
        "body",
        "owner_email",
        "town",
        "state",
        "retired_on",
    ),
)
ROOFS: Final = SheetLayout(
    name="roofs",
    required=("unit_no", "system", "terms", "started_on", "completed_on"),
    optional=(
        "roof_no",
        "substrate",
        "registered_on",
        "primer_lot",
        "primer_gal",
        "base_lot",
        "base_gal",
        "detail_lot",
        "detail_gal",
        "finish_lot",
        "finish_gal",
    ),
)
PENETRATIONS: Final = SheetLayout(
    name="penetrations",
    required=(
        "unit_no",
        "label",
        "kind",
        "x_ft",
        "y_ft",
        "width_in",
        "length_in",
        "detailed",
    ),
    optional=("roof_no", "happened_on"),
)
CLIMATE: Final = SheetLayout(
    name="climate",
    required=("unit_no", "taken_at", "air_f", "surface_f", "rh_pct"),
    optional=("roof_no", "coat"),
)
FILM: Final = SheetLayout(
    name="film",
    required=("unit_no", "coat", "area", "spot", "last_wet", "first_dry", "unit"),
    optional=("roof_no", "happened_on", "x_ft", "y_ft"),
)
VISITS: Final = SheetLayout(
    name="visits",
    required=("ref", "unit_no", "kind", "happened_on", "result"),
    optional=("roof_no", "technician", "severity", "finding", "cures", "shop"),
)
CLAIMS: Final = SheetLayout(
    name="claims",
    required=("ref", "unit_no", "noticed_on", "reported_on", "description"),
    optional=("roof_no", "estimate_usd"),
)

# Sheets of the catalogue come first: roofs name what stands in them.
CATALOGUE_SHEETS: Final = (SYSTEMS, COATS, TERMS)
# One row of these is about one coach, and coaches come first among them.
COACH_SHEETS: Final = (COACHES, ROOFS, PENETRATIONS, CLIMATE, FILM, VISITS, CLAIMS)
SHEETS: Final = {sheet.name: sheet for sheet in (*CATALOGUE_SHEETS, *COACH_SHEETS)}
# Without these a workbook is read, and what is missing is said.
EXPECTED: Final = tuple(sheet.name for sheet in COACH_SHEETS)
# Sheets in which one reference names one row, whatever the coach.
REFERENCED: Final = frozenset({VISITS.name, CLAIMS.name})


def column_name(text: str) -> str:
    """Return a heading as columns are named: ``Unit No`` is ``unit_no``."""
    return "_".join(text.strip().casefold().replace("-", " ").replace("_", " ").split())
