"""Rows of systems, coats and terms, from tables or from JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import Any

from fleet.film.units import UM_PER_MIL
from warranty.actions.importing.rows import COATS, OWNER_KINDS, SUBSTRATES
from warranty.models import Edition
from warranty.rules.terms import Anchor, Designation
from warranty.workbook import layout
from warranty.workbook.cells import (
    choice_of,
    number_of,
    plain_word,
    whole_of,
    yes_or_no,
)
from warranty.workbook.errors import RowRefused, WorkbookUnusable
from warranty.workbook.layout import SheetLayout
from warranty.workbook.limits import MAX_CATALOGUE_ROWS
from warranty.workbook.reader import RowReader
from warranty.workbook.sheet import RawRow

ANCHORS = {plain_word(anchor.value): anchor.value for anchor in Anchor}
DESIGNATIONS = {plain_word(word.value): word.value for word in Designation}
days = partial(whole_of, low=0, high=3_660)
months = partial(whole_of, low=1, high=3_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemSpec:
    code: str
    title: str
    substrates: tuple[str, ...]
    weather: Mapping[str, Decimal | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatSpec:
    system: str
    values: Mapping[str, Any]  # columns of a SystemCoat


def read_system(raw: RawRow) -> SystemSpec:
    """Read a row of systems."""
    row = RowReader(layout.SYSTEMS, raw)
    listed = row.given("substrates").replace(";", ",").split(",")
    return SystemSpec(
        code=row.given("code", longest=40),
        title=row.given("title"),
        substrates=row.need(
            "substrates",
            lambda _: tuple(
                dict.fromkeys(
                    choice_of(word, SUBSTRATES) for word in listed if word.strip()
                )
            ),
        ),
        weather=_weather(row),
    )


def read_coat(raw: RawRow) -> CoatSpec:
    """Read a row of coats."""
    row = RowReader(layout.COATS, raw)
    low, high = row.maybe("dry_min_mil", number_of), row.maybe("dry_max_mil", number_of)
    if low is not None and high is not None and low > high:
        raise _out("dry_max_mil", high, f"The upper limit lies below the lower, {low}.")
    wet = row.need("wet_target_mil", number_of)
    if not 0 < wet <= 100:
        raise _out("wet_target_mil", wet, "A wet coat is above 0 and at most 100 mil.")
    solids = row.need("volume_solids", number_of)
    if not 0 < solids <= 1:
        raise _out("volume_solids", solids, "Solids are a share above 0, at most 1.")
    for column, limit in (("dry_min_mil", low), ("dry_max_mil", high)):
        if limit is not None and not 0 <= limit <= 100:
            raise _out(column, limit, "A dry limit is from 0 to 100 mil.")
    return CoatSpec(
        system=row.given("system", longest=40),
        values={
            "role": row.word("role", COATS),
            "product": row.text("product", longest=120),
            "wet_target_um": wet * UM_PER_MIL,
            "volume_solids_ratio": solids,
            "dry_min_um": None if low is None else low * UM_PER_MIL,
            "dry_max_um": None if high is None else high * UM_PER_MIL,
            **_weather(row),
        },
    )


def _weather(row: RowReader) -> dict[str, Decimal | None]:
    rh = row.maybe("rh_max", partial(number_of, unit="pct"))
    air_min, air_max = (
        row.maybe("air_min_c", number_of),
        row.maybe("air_max_c", number_of),
    )
    margin = row.maybe("dew_margin_c", number_of)
    if rh is not None and not 0 < rh <= 100:
        raise _out("rh_max", rh, "Humidity is a percentage above 0, at most 100.")
    for column, limit in (("air_min_c", air_min), ("air_max_c", air_max)):
        if limit is not None and not -60 <= limit <= 80:
            raise _out(column, limit, "This is no weather to work in.")
    if air_min is not None and air_max is not None and air_min > air_max:
        raise _out("air_max_c", air_max, f"The limit lies below the lower, {air_min}.")
    if margin is not None and not 0 <= margin <= 30:
        raise _out("dew_margin_c", margin, "A margin is from 0 to 30.")
    return {
        "air_min_c": air_min,
        "air_max_c": air_max,
        "rh_max_ratio": None if rh is None else rh / 100,
        "dew_margin_c": margin,
    }


def _out(column: str, value: Decimal, reason: str) -> RowRefused:
    return RowRefused(
        column=column, value=str(value), code="out-of-range", reason=reason
    )


def read_edition(raw: RawRow) -> Edition:
    """Read a row of terms as an edition that is not published yet."""
    row = RowReader(layout.TERMS, raw)
    return Edition(
        code=row.given("code", longest=40),
        title=row.given("title"),
        owner_kind=row.word("owner_kind", OWNER_KINDS),
        anchor=row.word("anchor", ANCHORS),
        interval_months=row.need("interval_months", partial(whole_of, low=1, high=600)),
        window_days=row.need("window_days", days),
        grace_days=row.need("grace_days", days),
        reinstatement_days=row.need("reinstatement_days", days),
        registration_days=row.need("registration_days", days),
        serious_cure_days=row.need("serious_cure_days", days),
        term_months=row.maybe("term_months", months),
        designation=row.maybe_word("designation", DESIGNATIONS)
        or Designation.LIMITED.value,
        life_of=row.text("life_of", longest=60) or "coach",
        inspections_free=row.maybe("inspections_free", yes_or_no) or False,
        requires_dry_deck=row.maybe("requires_dry_deck", yes_or_no) or False,
        forbids_alterations=row.maybe("forbids_alterations", yes_or_no) or False,
    )


def document_rows(sheet: SheetLayout, document: Any) -> Iterator[RawRow]:
    """Yield a JSON object of objects by code as rows of its sheet.

    Raises:
        WorkbookUnusable: it is no such object, or too long.
    """
    is_fit = isinstance(document, dict) and all(
        isinstance(entry, dict) for entry in document.values()
    )
    if not is_fit or len(document) > MAX_CATALOGUE_ROWS:
        raise WorkbookUnusable(
            f"Sheet {sheet.name} as JSON must be one object of objects by code, at "
            f"most {MAX_CATALOGUE_ROWS}.",
            sheet=sheet.name,
        )
    for code, entry in document.items():
        yield _object_row(sheet, {**entry, "code": code})


def document_coats(document: Any) -> Iterator[RawRow]:
    """Yield the coats inside a JSON object of systems as rows of their sheet."""
    for code, entry in document.items():
        coats = entry.get("coats", [])
        if not isinstance(coats, list) or not all(isinstance(c, dict) for c in coats):
            raise WorkbookUnusable(
                f"The coats of system {code} must be a list of objects.",
                sheet="systems",
            )
        for coat in coats:
            yield _object_row(layout.COATS, {**coat, "system": code})


def _object_row(sheet: SheetLayout, entry: Mapping[str, Any]) -> RawRow:
    return RawRow(
        row_no=0, cells=tuple(_text(entry.get(column)) for column in sheet.columns)
    )


def _text(value: Any) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case list():
            return ", ".join(map(str, value))
        case dict():
            return json.dumps(value, default=str)
        case _:
            return str(value).strip()
