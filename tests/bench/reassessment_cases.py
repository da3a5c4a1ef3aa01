"""The roofs and rows that the bench of reassessment works on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count

from django.db import models, transaction

from fleet.actions.readings import coat_log
from fleet.actions.recording import recording
from fleet.actions.roofs import record
from fleet.models import CoatLog, LedgerEntry, Roof
from tests.builders import NOON, TODAY, make_promised_roof, make_reading, office

# Far above any chain of the bench, so that bare rows never clash with recorded ones.
_seqs = count(1_000_000)


def fleets() -> Iterator[tuple[str, list[Roof]]]:
    """Yield what is recorded on: a name and the roofs."""
    yield "1 roof, 15 film readings", [with_readings(0)]
    yield "1 roof, 315 film readings", [with_readings(300)]
    yield "50 roofs, 15 film readings each", [with_readings(0) for _ in range(50)]


def with_readings(more: int) -> Roof:
    """Return a promised roof with so many more readings."""
    roof = make_promised_roof()
    facts = [
        make_reading(area_no=2 + n // 100, spot_no=1 + n % 100) for n in range(more)
    ]
    if facts:
        record(roof=roof, kind="film", facts=facts, by=office(), now=NOON)
    return roof


def record_on(roofs: list[Roof]) -> None:
    """Record one coat log on each roof, in one recording."""
    by = office()
    with recording(by=by, now=NOON) as made:
        made.lock(roof.pk for roof in roofs)
        for roof in roofs:
            made.append(roof, "coats", [log()])


def recording_of(roofs: list[Roof]) -> Callable[[], None]:
    """Return the recording of one coat log on each roof, still to be done."""
    return lambda: record_on(roofs)


def bare_writing_of(roofs: list[Roof]) -> Callable[[], None]:
    """Return the writing of the same rows, a statement a table, in one transaction."""
    rows = rows_for(roofs)

    def write() -> None:
        with transaction.atomic():
            for table in rows:
                type(table[0])._default_manager.bulk_create(table)

    return write


def log() -> CoatLog:
    return coat_log(coat="base", lot="L", happened_on=TODAY)


def rows_for(roofs: list[Roof]) -> list[list[models.Model]]:
    """Return unsaved rows like those of the same recording: entries, then facts."""
    by = office()
    entries: list[models.Model] = []
    facts: list[models.Model] = []
    for roof in roofs:
        entry = LedgerEntry.objects.filter(roof=roof, seq__lt=1_000_000).latest("seq")
        entry.pk, entry.seq, entry._state.adding = None, next(_seqs), True
        fact = log()
        fact.roof, fact.entry, fact.recorded_at, fact.recorded_by = (
            roof,
            entry,
            NOON,
            by,
        )
        entries.append(entry)
        facts.append(fact)
    return [entries, facts]
