"""Which rows stand when some correct others."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Generic, Protocol, TypeVar
from uuid import UUID


class Correctable(Protocol):
    """What a row must tell about itself."""

    @property
    def uuid(self) -> UUID: ...
    @property
    def supersedes(self) -> UUID | None: ...
    @property
    def is_void(self) -> bool: ...
    @property
    def settles(self) -> bool: ...
    @property
    def recorded_at(self) -> datetime: ...


Row = TypeVar("Row", bound=Correctable)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing(Generic[Row]):
    """The rows that count, and the rows whose corrections contradict each other."""

    rows: tuple[Row, ...]
    disputed: tuple[UUID, ...] = ()
    # Of each correction, the first record it goes back to.
    origin_of: dict[UUID, UUID] = field(default_factory=dict)


def rows_that_stand(known: Sequence[Row]) -> Standing[Row]:
    """Return the rows that count, given all that were known at one moment.

    A correction hides the row it names. Two corrections of one row are a dispute:
    until the office settles it, the older row counts. A correction that arrived
    before its row counts alone until the row comes. A void correction strikes its
    row. Rows that name each other in a circle never count.

    Parameters
    ----------
    known : sequence of rows
        Rows of one table about one roof or coach, in any order.

    Returns
    -------
    Standing
        Rows in the order of ``known``.
    """
    if not any(row.supersedes for row in known):
        return Standing(rows=tuple(known))
    corrections: dict[UUID, list[Row]] = defaultdict(list)
    by_uuid = {row.uuid: row for row in known}
    for row in known:
        if row.supersedes:
            corrections[row.supersedes].append(row)
    disputed: list[UUID] = []
    counting: set[UUID] = set()
    for root in _roots(known, by_uuid, corrections):
        chosen = _resolve(root, by_uuid, corrections, disputed)
        if chosen is not None and not chosen.is_void:
            counting.add(chosen.uuid)
    return Standing(
        rows=tuple(row for row in known if row.uuid in counting),
        disputed=tuple(disputed),
        origin_of=_origins(by_uuid),
    )


def _origins(by_uuid: dict[UUID, Row]) -> dict[UUID, UUID]:
    """Return for each correction the uuid its chain of corrections starts from."""
    origins: dict[UUID, UUID] = {}
    for row in by_uuid.values():
        seen = {row.uuid}
        origin, older = row.uuid, row.supersedes
        while older is not None and older not in seen:
            seen.add(older)
            origin = older
            known = by_uuid.get(older)
            older = known.supersedes if known else None
        if origin != row.uuid:
            origins[row.uuid] = origin
    return origins


def _roots(
    known: Iterable[Row],
    by_uuid: dict[UUID, Row],
    corrections: dict[UUID, list[Row]],
) -> list[UUID]:
    """Return the uuids that correct nothing known: originals, and missing originals."""
    originals = [row.uuid for row in known if row.supersedes is None]
    missing = [uuid for uuid in corrections if uuid not in by_uuid]
    return [*originals, *missing]


def _resolve(
    uuid: UUID,
    by_uuid: dict[UUID, Row],
    corrections: dict[UUID, list[Row]],
    disputed: list[UUID],
) -> Row | None:
    """Return the row that counts for one original, following its corrections."""
    while True:
        rivals = corrections.get(uuid, [])
        settling = [row for row in rivals if row.settles]
        if settling:
            chosen = max(settling, key=lambda row: (row.recorded_at, row.uuid))
        elif len(rivals) == 1:
            chosen = rivals[0]
        else:
            if rivals:
                disputed.append(uuid)
            return by_uuid.get(uuid)
        uuid = chosen.uuid
