"""Which recorded fact a workbook's row tells again, corrects, or adds to.

Facts that an import makes have a uuid derived from their key, of version 8 (RFC 9562,
section 5.8: an application's own), which nothing else here makes. So a later import can
tell its own words from the office's: what the office corrected on record since stays
corrected when the same old workbook comes again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import Enum
from typing import Generic, TypeVar
from uuid import UUID, uuid5

from django.db.models import DecimalField, Model

from fleet.ledger.correction import rows_that_stand
from fleet.models import PrivateText, Record

NAMESPACE = UUID("5a0c8f0e-6a0b-5c4e-9a55-7d1a3c1f6e21")
_IMPORTED_VERSION = 8
_VERSION_AT_BIT = 76

Fact = TypeVar("Fact", bound=Record)


class Match(Enum):
    """How a row stands to what is recorded under its key."""

    NEW = "new"
    SAME = "same"
    STALE = "stale"  # the file's word was corrected on record since
    CHANGED = "changed"
    DISPUTED = "disputed"  # two corrections contradict each other


@dataclass(slots=True, kw_only=True)
class Chain(Generic[Fact]):
    """One fact with its corrections, oldest first."""

    rows: list[Fact]
    end: Fact | None  # the row that counts; none when it was struck
    is_disputed: bool

    @property
    def last(self) -> Fact:
        """Return the row that a further correction names."""
        return self.end or self.rows[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found(Generic[Fact]):
    """The answer: how a row matches, and the chain it belongs to."""

    match: Match
    chain: Chain[Fact] | None = None


def key_uuid(*key: object) -> UUID:
    """Return the uuid of the fact that a workbook tells under a key."""
    return _own_uuid("\x1f".join(map(str, key)))


def correction_uuid(superseded: UUID) -> UUID:
    """Return the uuid of an import's correction of a row."""
    return _own_uuid(f"correction\x1f{superseded}")


def _own_uuid(name: str) -> UUID:
    bits = uuid5(NAMESPACE, name).int & ~(0xF << _VERSION_AT_BIT)
    return UUID(int=bits | _IMPORTED_VERSION << _VERSION_AT_BIT)


def is_imported(fact: Record) -> bool:
    """Return whether an import made this row."""
    return fact.uuid.version == _IMPORTED_VERSION


def chains_of(rows: Iterable[Fact]) -> list[Chain[Fact]]:
    """Return facts of one table about one roof or coach, each with its corrections."""
    known = list(rows)
    if not any(row.supersedes for row in known):
        return [Chain(rows=[row], end=row, is_disputed=False) for row in known]
    by_uuid = {row.uuid: row for row in known}
    standing = rows_that_stand(known)
    counting = {row.uuid for row in standing.rows}
    grouped: dict[UUID, list[Fact]] = defaultdict(list)
    for row in known:
        grouped[_root(row, by_uuid)].append(row)
    return [
        Chain(
            rows=group,
            end=next((row for row in group if row.uuid in counting), None),
            is_disputed=any(row.uuid in standing.disputed for row in group),
        )
        for group in grouped.values()
    ]


def _root(row: Fact, by_uuid: dict[UUID, Fact]) -> UUID:
    seen = set()
    while row.supersedes and row.uuid not in seen:
        seen.add(row.uuid)
        if row.supersedes not in by_uuid:
            return row.supersedes
        row = by_uuid[row.supersedes]
    return row.uuid


def find(
    wanted: Fact, chains: Sequence[Chain[Fact]], compared: Sequence[str]
) -> Found[Fact]:
    """Return how a wanted fact stands to the chains under its key."""
    for chain in chains:
        if chain.end is not None and says_the_same(chain.end, wanted, compared):
            return Found(match=Match.SAME, chain=chain)
    for chain in chains:
        if not is_imported(chain.last) and any(
            is_imported(row) and says_the_same(row, wanted, compared)
            for row in chain.rows
        ):
            return Found(match=Match.STALE, chain=chain)
    if not chains:
        return Found(match=Match.NEW)
    own = [chain for chain in chains if is_imported(chain.rows[0])]
    chosen = (own or chains)[-1]
    match = Match.DISPUTED if chosen.is_disputed else Match.CHANGED
    return Found(match=match, chain=chosen)


def says_the_same(known: Record, wanted: Record, compared: Sequence[str]) -> bool:
    """Return whether two facts say the same in these fields."""
    return all(_same(known, wanted, name) for name in compared)


def _same(known: Record, wanted: Record, name: str) -> bool:
    old, new = getattr(known, name), getattr(wanted, name)
    if isinstance(old, PrivateText) and old.erased_at is not None:
        return True  # a person was erased: the workbook must not bring them back
    return plain_value(known, name, old) == plain_value(wanted, name, new)


def plain_value(fact: Record, name: str, value: object) -> object:
    """Return a field's value so that two rows can be compared and shown."""
    if isinstance(value, PrivateText):
        return value.body
    if isinstance(value, Model):
        return value.pk if value.pk is not None else id(value)
    if isinstance(value, Decimal):
        field = fact._meta.get_field(name)
        places = field.decimal_places if isinstance(field, DecimalField) else 4
        return round(value, places)
    if isinstance(value, datetime):
        return value.astimezone(UTC)
    return "" if value is None else value


def shown(value: object) -> str:
    """Return a value as a person compares it."""
    if isinstance(value, Decimal):
        return format(value.normalize(), "f") if value else "0"
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def by_key(
    chains: Iterable[Chain[Fact]], key_of: Callable[[Fact], object]
) -> dict[object, list[Chain[Fact]]]:
    """Return chains under every key that a row of theirs ever had."""
    found: dict[object, list[Chain[Fact]]] = defaultdict(list)
    for chain in chains:
        for key in dict.fromkeys(key_of(row) for row in chain.rows):
            found[key].append(chain)
    return found
