"""Many writers at once leave gapless chains, and never lock each other out."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from functools import partial
from uuid import uuid4

import pytest
from django.db import OperationalError, connection

from fleet.actions.coaches import hand_over, merge_owners
from fleet.actions.errors import AlreadyMerged
from fleet.actions.readings import coat_log
from fleet.actions.recording import recording
from fleet.actions.roofs import open_roof, record, record_visit
from fleet.models import CoatLog, Finding, LedgerEntry, Owner, Roof, Visit
from fleet.selectors.verification import verify_ledgers
from tests import services
from tests.builders import (
    NOON,
    TODAY,
    make_coach,
    make_owner,
    make_promised_roof,
    make_roof,
    office,
)
from warranty.models import Standing
from warranty.selectors.standings import standings_of

pytestmark = pytest.mark.slow
WRITERS = 50
# SQLite lets one write and gives the others their turn by chance: on a busy machine
# one of twelve waits longer than the twenty seconds it is allowed.
TOGETHER = 12 if services.is_suite_on_postgresql() else 4


@pytest.fixture(autouse=True)
def database(shared_database) -> str:
    """Give threads a database that all of them can reach."""
    return shared_database


def at_once(
    work: Callable[[int], object], *, count: int, together: int = TOGETHER
) -> list[object]:
    """Do numbered work in threads that start together; return what each came to."""
    gate = threading.Barrier(min(count, together))

    def act(number: int) -> object:
        if number < gate.parties:
            gate.wait(timeout=30)
        try:
            return work(number)
        finally:
            connection.close()

    with ThreadPoolExecutor(max_workers=gate.parties) as pool:
        return list(pool.map(act, range(count)))


def until_let_in(write: Callable[[], None]) -> None:
    """Write, and again after a lock time-out, as a client does after a 503.

    SQLite lets one write and gives the others their turn by chance.
    """
    for _ in range(10):
        try:
            write()
        except OperationalError as error:
            if "locked" not in str(error):
                raise
        else:
            return
    raise AssertionError("A writer was never let in.")


def log(number: int) -> CoatLog:
    return coat_log(coat="base", lot=f"L-{number}", happened_on=TODAY)


def seqs(roof: Roof) -> list[int]:
    entries = LedgerEntry.objects.filter(roof=roof).order_by("seq")
    return list(entries.values_list("seq", flat=True))


def test_fifty_writers_on_one_roof_leave_one_gapless_chain():
    roof, by = make_promised_roof(), office()
    before = len(seqs(roof))

    def write(number: int) -> None:
        # Clocks of different machines are never in the order of the locks.
        now = NOON + timedelta(milliseconds=(number * 37) % WRITERS)
        severity = "SERIOUS" if number == 0 else "MINOR"
        record_visit(
            roof=Roof.objects.get(pk=roof.pk),
            ref=f"V-{number}",
            kind="INSPECTION",
            happened_on=TODAY,
            findings=[Finding(happened_on=TODAY, severity=severity)],
            by=by,
            now=now,
        )

    at_once(
        lambda number: until_let_in(partial(write, number)),
        count=WRITERS,
        together=WRITERS,
    )

    assert seqs(roof) == list(range(1, before + 2 * WRITERS + 1))
    assert Visit.objects.count() == Finding.objects.count() == WRITERS
    assert verify_ledgers().faults == []
    assert Standing.objects.filter(roof=roof).count() == 1
    later = NOON + timedelta(hours=1)
    fresh = standings_of([roof.pk], as_of=TODAY, known_at=later)[roof.pk]
    assert Standing.objects.get(roof=roof).word == fresh.standing == "AT_RISK"


def test_one_record_sent_by_many_at_once_is_one_row():
    roof, by, uuid = make_roof(), office(), uuid4()

    def send(_: int) -> int:
        fact = coat_log(coat="base", lot="L", happened_on=TODAY, uuid=uuid)
        [kept] = record(roof=roof, kind="coats", facts=[fact], by=by, now=NOON)
        return kept.pk

    rows = at_once(send, count=TOGETHER)

    assert len(set(rows)) == 1
    assert seqs(roof) == [1, 2]


def test_writers_over_two_roofs_in_opposite_order_all_finish():
    roofs, by = (make_roof(), make_roof()), office()

    def write(number: int) -> None:
        first, second = roofs if number % 2 else roofs[::-1]
        with recording(by=by, now=NOON) as made:
            made.lock([first.pk, second.pk])
            for roof in (first, second):
                record(roof=roof, kind="coats", facts=[log(number)], by=by, now=NOON)

    at_once(write, count=2 * TOGETHER)

    assert CoatLog.objects.count() == 4 * TOGETHER
    assert all(seqs(roof) == list(range(1, 2 * TOGETHER + 2)) for roof in roofs)
    assert verify_ledgers().faults == []


def test_a_roof_opened_while_its_coach_is_sold_tells_of_the_sale():
    by = office()
    coaches = [make_coach() for _ in range(TOGETHER)]
    buyers = [make_owner() for _ in range(TOGETHER)]

    def act(number: int) -> None:
        pair, is_sale = divmod(number, 2)
        if is_sale:
            hand_over(
                coach=coaches[pair], owner=buyers[pair], from_on=TODAY, by=by, now=NOON
            )
        else:
            open_roof(coach=coaches[pair], by=by, now=NOON)

    at_once(act, count=2 * TOGETHER)

    assert verify_ledgers().faults == []


def test_sales_of_one_coach_at_once_leave_the_right_holder():
    coach, by = make_coach(), office()
    owners = [make_owner() for _ in range(TOGETHER)]

    def sell(number: int) -> None:
        day = TODAY - timedelta(days=number)
        hand_over(coach=coach, owner=owners[number], from_on=day, by=by, now=NOON)

    at_once(sell, count=TOGETHER)

    coach.refresh_from_db()
    assert coach.holder == owners[0]


def test_two_owners_merged_into_each_other_at_once_do_not_both_vanish():
    by, pair = office(), (make_owner(), make_owner())

    def merge(number: int) -> str:
        kept, dropped = pair if number else pair[::-1]
        try:
            merge_owners(kept=kept, dropped=dropped, why="twice", by=by, now=NOON)
        except AlreadyMerged:
            return "refused"
        return "merged"

    answers = at_once(merge, count=2)

    assert sorted(answers) == ["merged", "refused"]
    assert (
        Owner.objects.filter(
            pk__in=[owner.pk for owner in pair], merged_into=None
        ).count()
        == 1
    )
