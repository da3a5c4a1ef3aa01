"""Systems and editions of a workbook: new ones go in, known ones must agree."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, TypeVar

from django.db.models import DecimalField, Model

from fleet.models import System, SystemCoat, SystemSubstrate
from warranty.actions.errors import TermsNotValid
from warranty.actions.importing.catalogue_rows import (
    CoatSpec,
    SystemSpec,
    read_coat,
    read_edition,
    read_system,
)
from warranty.actions.importing.result import ImportResult, Outcome
from warranty.actions.promises import add_edition
from warranty.models import Edition
from warranty.rules.terms import TermsInputError
from warranty.selectors.terms import terms_of
from warranty.workbook import layout
from warranty.workbook.errors import RowRefused
from warranty.workbook.sheet import RawRow

# The columns of a workbook's sheet of terms: the rest of an edition it does not tell.
_TERMS: Final = frozenset(layout.TERMS.columns)
_WEATHER: Final = ("air_min_c", "air_max_c", "rh_max_ratio", "dew_margin_c")
_OF_COAT: Final = (
    "role",
    "product",
    "wet_target_um",
    "volume_solids_ratio",
    "dry_min_um",
    "dry_max_um",
    *_WEATHER,
)
Spec = TypeVar("Spec")


@dataclass(slots=True, kw_only=True)
class Catalogue:
    """What roofs may name: on record, and new from this workbook."""

    systems: dict[str, System] = field(default_factory=dict)
    editions: dict[str, Edition] = field(default_factory=dict)
    _new_systems: list[tuple[System, SystemSpec, list[SystemCoat]]] = field(
        default_factory=list
    )
    _new_editions: list[Edition] = field(default_factory=list)

    def write(self, now: datetime) -> None:
        """Save what is new. Call it in a transaction."""
        for system, spec, coats in self._new_systems:
            system.save(force_insert=True)
            SystemSubstrate.objects.bulk_create(
                SystemSubstrate(system=system, substrate=substrate)
                for substrate in spec.substrates
            )
            SystemCoat.objects.bulk_create(coats)
        for edition in self._new_editions:
            add_edition(edition=edition, now=now)
        self._new_systems.clear()
        self._new_editions.clear()

    def read_systems(
        self, systems: Sequence[RawRow], coats: Sequence[RawRow], result: ImportResult
    ) -> None:
        """Take the systems of a workbook, with their coats in order."""
        of_system: dict[str, list[CoatSpec]] = defaultdict(list)
        unfit: dict[str, RowRefused] = {}
        named: list[tuple[RawRow, str]] = []
        for raw in coats:
            try:
                spec = read_coat(raw)
            except RowRefused as why:
                # A system without one of its coats would be another system.
                result.refuse("coats", raw.row_no, raw.cells[0], why)
                unfit[raw.cells[0]] = why
                continue
            of_system[spec.system].append(spec)
            named.append((raw, spec.system))

        def tell(spec: SystemSpec) -> Outcome:
            if spec.code in unfit:
                raise RowRefused(
                    column="code",
                    value=spec.code,
                    code="coat-refused",
                    reason="One of its coats was refused. Correct that one first.",
                )
            return self._system(spec, of_system[spec.code])

        told = _each(systems, read_system, lambda s: s.code, tell, "systems", result)
        for raw, code in named:
            if code in told:
                result.count("coats", [told[code]])
            else:
                result.refuse("coats", raw.row_no, code, _without_system(code))

    def read_editions(self, rows: Sequence[RawRow], result: ImportResult) -> None:
        """Take the editions of a workbook."""
        _each(rows, read_edition, lambda e: e.code, self._edition, "terms", result)

    def _system(self, spec: SystemSpec, coats: list[CoatSpec]) -> Outcome:
        system = System(code=spec.code, title=spec.title, **spec.weather)
        rows = [
            SystemCoat(system=system, position=position, **coat.values)
            for position, coat in enumerate(coats, start=1)
        ]
        roles = [coat.values["role"] for coat in coats]
        if not roles or len(set(roles)) != len(roles):
            raise RowRefused(
                column="coats",
                value=", ".join(map(str, roles)),
                code="coats-unclear",
                reason="A system has at least one coat, and each coat once.",
            )
        known = self.systems.get(spec.code)
        if known is None:
            self.systems[spec.code] = system
            self._new_systems.append((system, spec, rows))
            return Outcome.NEW
        for name in ("title", *_WEATHER):
            if _value(known, name) != _value(system, name):
                raise _immutable("system", spec.code, name, _value(system, name))
        if {row.substrate for row in known.substrates.all()} != set(spec.substrates):
            raise _immutable(
                "system", spec.code, "substrates", " ".join(spec.substrates)
            )
        held = sorted(known.coats.all(), key=lambda coat: coat.position)
        if [_signature(coat) for coat in held] != [_signature(row) for row in rows]:
            raise _immutable("system", spec.code, "coats", ", ".join(map(str, roles)))
        return Outcome.UNCHANGED

    def _edition(self, edition: Edition) -> Outcome:
        try:
            terms_of(edition)
        except TermsInputError as error:
            raise RowRefused(
                column="code",
                value=edition.code,
                code=TermsNotValid.code,
                reason=str(error),
            ) from None
        known = self.editions.get(edition.code)
        if known is not None and known.pk and known.published_at is None:
            raise RowRefused(
                column="code",
                value=edition.code,
                code="edition-is-a-draft",
                reason="A draft has this code. Publish it or give it another first.",
            )
        if known is None:
            self.editions[edition.code] = edition
            self._new_editions.append(edition)
            return Outcome.NEW
        for told in Edition._meta.concrete_fields:
            name = told.name
            if name in _TERMS and getattr(known, name) != getattr(edition, name):
                raise _immutable("edition", edition.code, name, getattr(edition, name))
        return Outcome.UNCHANGED


def catalogue_on_record() -> Catalogue:
    """Return the systems and editions on record."""
    systems = System.objects.prefetch_related("coats", "substrates").order_by("pk")
    return Catalogue(
        systems={system.code: system for system in systems},
        editions={edition.code: edition for edition in Edition.objects.order_by("pk")},
    )


def _each(
    rows: Iterable[RawRow],
    read: Callable[[RawRow], Spec],
    code_of: Callable[[Spec], str],
    tell: Callable[[Spec], Outcome],
    sheet: str,
    result: ImportResult,
) -> dict[str, Outcome]:
    told: dict[str, Outcome] = {}
    for raw in rows:
        try:
            spec = read(raw)
            outcome = tell(spec)
        except RowRefused as why:
            result.refuse(sheet, raw.row_no, raw.cells[0], why)
            continue
        if code_of(spec) in told:
            result.sheets[sheet].repeated += 1
            continue
        told[code_of(spec)] = outcome
        result.count(sheet, [outcome])
    return told


def _signature(coat: SystemCoat) -> tuple[object, ...]:
    return tuple(_value(coat, name) for name in _OF_COAT)


def _value(row: Model, name: str) -> object:
    value, told = getattr(row, name), row._meta.get_field(name)
    if value is not None and isinstance(told, DecimalField):
        return round(value, told.decimal_places)
    return value


def _immutable(noun: str, code: str, column: str, value: object) -> RowRefused:
    return RowRefused(
        column=column,
        value=str(value)[:80],
        code="immutable",
        reason=(
            f"The {noun} {code} is on record with another {column} and never changes. "
            "Give the changed one another code."
        ),
    )


def _without_system(code: str) -> RowRefused:
    return RowRefused(
        column="system",
        value=code,
        code="system-refused",
        reason=f"System {code} was refused or is not here. Correct its own row.",
    )
