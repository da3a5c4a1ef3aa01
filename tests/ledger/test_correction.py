"""A correction hides the older row only when it was known and undisputed."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from fleet.ledger.correction import rows_that_stand

START = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    uuid: UUID
    supersedes: UUID | None = None
    is_void: bool = False
    settles: bool = False
    recorded_at: datetime = START


def row(number: int, corrects: int | None = None, **over: bool) -> Row:
    return Row(
        uuid=UUID(int=number),
        supersedes=None if corrects is None else UUID(int=corrects),
        recorded_at=START + timedelta(minutes=number),
        **over,
    )


def standing(*rows: Row) -> list[int]:
    return [each.uuid.int for each in rows_that_stand(rows).rows]


def test_a_correction_hides_the_row_it_names():
    assert standing(row(1), row(2, corrects=1), row(3)) == [2, 3]


def test_a_correction_of_a_correction_counts_alone():
    assert standing(row(1), row(2, corrects=1), row(3, corrects=2)) == [3]


def test_two_corrections_of_one_row_leave_the_original():
    result = rows_that_stand([row(1), row(2, corrects=1), row(3, corrects=1)])

    assert [each.uuid.int for each in result.rows] == [1]
    assert result.disputed == (UUID(int=1),)


def test_the_office_settles_a_dispute():
    rows = [row(1), row(2, corrects=1), row(3, corrects=1)]

    assert standing(*rows, row(4, corrects=1, settles=True)) == [4]


def test_a_void_correction_strikes_the_row():
    assert standing(row(1), row(2, corrects=1, is_void=True)) == []


def test_correcting_a_strike_brings_the_record_back():
    rows = [row(1), row(2, corrects=1, is_void=True), row(3, corrects=2)]

    assert standing(*rows) == [3]


def test_a_correction_may_arrive_before_its_row():
    early = row(2, corrects=1)

    assert standing(early) == [2]
    assert standing(early, row(1)) == [2]


def test_rows_in_a_circle_never_count():
    assert standing(row(1, corrects=2), row(2, corrects=1), row(3)) == [3]


@pytest.mark.parametrize(
    "rows",
    [
        [row(1), row(2, corrects=1), row(3, corrects=2), row(4)],
        [row(1), row(2, corrects=1), row(3, corrects=1), row(4, corrects=3)],
    ],
)
def test_the_order_of_arrival_changes_nothing(rows):
    answers = {frozenset(standing(*order)) for order in itertools.permutations(rows)}

    assert len(answers) == 1


def test_a_correction_goes_back_to_its_first_record():
    result = rows_that_stand([row(1), row(2, corrects=1), row(3, corrects=2), row(4)])

    assert {key.int: origin.int for key, origin in result.origin_of.items()} == {
        2: 1,
        3: 1,
    }
