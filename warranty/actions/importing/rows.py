"""What each sheet's row says, read and typed. Row numbers do not make rows differ."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from functools import partial

from django.db.models import TextChoices

from fleet.models import (
    Body,
    CoatRole,
    OwnerKind,
    PenetrationKind,
    Severity,
    Substrate,
    VisitKind,
    VisitResult,
)
from warranty.workbook import layout
from warranty.workbook.cells import (
    cents_of,
    day_of,
    instant_of,
    number_of,
    plain_word,
    whole_of,
    yes_or_no,
)
from warranty.workbook.reader import RowReader
from warranty.workbook.sheet import RawRow


def words_of(choices: type[TextChoices], **also: TextChoices) -> Mapping[str, str]:
    """Return the words an office writes for a choice: its label and its value."""
    words = {plain_word(choice.label): choice.value for choice in choices}
    words |= {plain_word(choice.value): choice.value for choice in choices}
    return words | {plain_word(word): choice.value for word, choice in also.items()}


BODIES = words_of(Body)
SUBSTRATES = words_of(
    Substrate, aluminum=Substrate.ALUMINIUM, fiberglass=Substrate.FIBREGLASS
)
OWNER_KINDS = words_of(OwnerKind)
PENETRATIONS = words_of(PenetrationKind)
COATS = words_of(CoatRole)
VISITS = words_of(VisitKind)
RESULTS = words_of(VisitResult)
SEVERITIES = words_of(Severity)

feet = partial(number_of, unit="ft")
inches = partial(number_of, unit="in")
gallons = partial(number_of, unit="gal")
fahrenheit = partial(number_of, unit="f")
percent = partial(number_of, unit="pct")
year = partial(whole_of, low=1900, high=2199)
count = partial(whole_of, low=1, high=9_999)
roof_number = partial(whole_of, low=1, high=99)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of one coach; ``roof_no`` is 1 where the sheet does not say."""

    row_no: int = field(compare=False)
    unit_no: str
    roof_no: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CoachRow(Row):
    vin: str
    model_year: int | None
    make: str
    model: str
    body: str
    length_ft: Decimal
    width_ft: Decimal
    substrate: str
    owner: str
    owner_kind: str
    owner_email: str
    town: str
    state: str
    retired_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatUse:
    """One coat's lot and gallons as the roof's row tells them."""

    coat: str
    lot: str
    volume_gal: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofRow(Row):
    system: str
    terms: str
    substrate: str
    started_on: date
    completed_on: date | None
    registered_on: date | None
    coats: tuple[CoatUse, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PenetrationRow(Row):
    label: str
    kind: str
    x_ft: Decimal
    y_ft: Decimal
    width_in: Decimal
    length_in: Decimal
    is_detailed: bool
    happened_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateRow(Row):
    taken_at: datetime
    air_f: Decimal | None
    surface_f: Decimal | None
    rh_pct: Decimal | None
    coat: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmRow(Row):
    coat: str
    area_no: int
    spot_no: int
    last_wet: Decimal
    first_dry: Decimal
    unit: str
    happened_on: date | None
    x_ft: Decimal | None
    y_ft: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitRow(Row):
    ref: str
    kind: str
    happened_on: date
    technician: str
    result: str
    severity: str
    finding: str
    cures: tuple[str, ...]
    shop: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimRow(Row):
    ref: str
    noticed_on: date
    reported_on: date
    description: str
    estimate_cents: int | None


def read_coach(raw: RawRow) -> CoachRow:
    """Read a row of coaches."""
    row = RowReader(layout.COACHES, raw)
    owner = row.text("owner")
    return CoachRow(
        row_no=row.row_no,
        unit_no=row.given("unit_no", longest=40),
        vin=row.text("vin", longest=40),
        model_year=row.maybe("year", year),
        make=row.text("make", longest=60),
        model=row.text("model", longest=60),
        body=row.maybe_word("body", BODIES),
        length_ft=row.need("length_ft", feet),
        width_ft=row.need("width_ft", feet),
        substrate=row.maybe_word("substrate", SUBSTRATES),
        owner=" ".join(owner.split()),
        owner_kind=row.word("owner_kind", OWNER_KINDS) if owner else "",
        owner_email=row.text("owner_email").casefold(),
        town=row.text("town", longest=80),
        state=row.text("state", longest=40),
        retired_on=row.maybe("retired_on", day_of),
    )


def read_roof(raw: RawRow) -> RoofRow:
    """Read a row of roofs."""
    row = RowReader(layout.ROOFS, raw)
    used = (
        CoatUse(
            coat=coat.value,
            lot=row.text(f"{coat.value}_lot", longest=40),
            volume_gal=row.maybe(f"{coat.value}_gal", gallons),
        )
        for coat in CoatRole
    )
    return RoofRow(
        row_no=row.row_no,
        unit_no=row.given("unit_no", longest=40),
        roof_no=row.maybe("roof_no", roof_number) or 1,
        system=row.given("system", longest=40),
        terms=row.text("terms", longest=40),
        substrate=row.maybe_word("substrate", SUBSTRATES),
        started_on=row.need("started_on", day_of),
        completed_on=row.maybe("completed_on", day_of),
        registered_on=row.maybe("registered_on", day_of),
        coats=tuple(use for use in used if use.lot or use.volume_gal is not None),
    )


def read_penetration(raw: RawRow) -> PenetrationRow:
    """Read a row of penetrations."""
    row = RowReader(layout.PENETRATIONS, raw)
    return PenetrationRow(
        row_no=row.row_no,
        unit_no=row.given("unit_no", longest=40),
        roof_no=row.maybe("roof_no", roof_number) or 1,
        label=row.given("label", longest=80),
        kind=row.word("kind", PENETRATIONS),
        x_ft=row.need("x_ft", feet),
        y_ft=row.need("y_ft", feet),
        width_in=row.need("width_in", inches),
        length_in=row.need("length_in", inches),
        is_detailed=row.need("detailed", yes_or_no),
        happened_on=row.maybe("happened_on", day_of),
    )


def read_climate(raw: RawRow) -> ClimateRow:
    """Read a row of climate."""
    row = RowReader(layout.CLIMATE, raw)
    return ClimateRow(
        row_no=row.row_no,
        unit_no=row.given("unit_no", longest=40),
        roof_no=row.maybe("roof_no", roof_number) or 1,
        taken_at=row.need("taken_at", instant_of),
        air_f=row.maybe("air_f", fahrenheit),
        surface_f=row.maybe("surface_f", fahrenheit),
        rh_pct=row.maybe("rh_pct", percent),
        coat=row.maybe_word("coat", COATS),
    )


def read_film(raw: RawRow) -> FilmRow:
    """Read a row of film."""
    row = RowReader(layout.FILM, raw)
    return FilmRow(
        row_no=row.row_no,
        unit_no=row.given("unit_no", longest=40),
        roof_no=row.maybe("roof_no", roof_number) or 1,
        coat=row.word("coat", COATS),
        area_no=row.need("area", count),
        spot_no=row.need("spot", count),
        last_wet=row.need("last_wet", number_of),
        first_dry=row.need("first_dry", number_of),
        unit=row.given("unit", longest=40),
        happened_on=row.maybe("happened_on", day_of),
        x_ft=row.maybe("x_ft", feet),
        y_ft=row.maybe("y_ft", feet),
    )


def read_visit(raw: RawRow) -> VisitRow:
    """Read a row of visits."""
    row = RowReader(layout.VISITS, raw)
    named = row.text("cures", longest=400).replace(";", ",").split(",")
    return VisitRow(
        row_no=row.row_no,
        unit_no=row.given("unit_no", longest=40),
        roof_no=row.maybe("roof_no", roof_number) or 1,
        ref=row.given("ref", longest=40),
        kind=row.word("kind", VISITS),
        happened_on=row.need("happened_on", day_of),
        technician=row.text("technician", longest=120),
        result=row.maybe_word("result", RESULTS) or VisitResult.NONE.value,
        severity=row.maybe_word("severity", SEVERITIES),
        finding=row.text("finding", longest=10_000),
        cures=tuple(dict.fromkeys(ref.strip() for ref in named if ref.strip())),
        shop=row.text("shop", longest=120),
    )


def read_claim(raw: RawRow) -> ClaimRow:
    """Read a row of claims."""
    row = RowReader(layout.CLAIMS, raw)
    return ClaimRow(
        row_no=row.row_no,
        unit_no=row.given("unit_no", longest=40),
        roof_no=row.maybe("roof_no", roof_number) or 1,
        ref=row.given("ref", longest=40),
        noticed_on=row.need("noticed_on", day_of),
        reported_on=row.need("reported_on", day_of),
        description=row.text("description", longest=10_000),
        estimate_cents=row.maybe("estimate_usd", cents_of),
    )


Read = Callable[[RawRow], Row]
