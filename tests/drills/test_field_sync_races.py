"""Phones that send at the same moment: nothing twice, nothing left waiting."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from uuid import UUID

import pytest
from django.db import connection

from fleet.actions.devices import TooManyCodes, pair
from fleet.actions.field_operations import receive
from fleet.errors import DomainError
from fleet.models import FieldOperation, Finding, LedgerEntry, Visit
from tests.builders import NOON, make_roof
from tests.field.phone import make_phone, op, uuid_of

ROUNDS = 8

pytestmark = pytest.mark.slow


def at_once(*calls):
    """Run the calls in threads that start together; return what each answered."""
    start = Barrier(len(calls))

    def run(call):
        start.wait()
        try:
            return call()
        except DomainError as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def sends(phone, operation):
    """Return the call that hands an operation over, under its record's own id."""
    raw, op_id = json.dumps(operation).encode(), UUID(uuid_of(operation))
    return lambda: receive(device=phone.device, op_id=op_id, raw=raw, now=NOON)


def test_a_visit_and_what_waits_for_it_by_two_phones_at_once(shared_database):
    one, two, roof = make_phone(), make_phone(), make_roof()
    for day in range(1, ROUNDS + 1):
        visit = op("visit", roof, body={"happened_on": f"2026-05-{day:02}"})
        finding = op("finding", roof, visit=uuid_of(visit))

        at_once(sends(one, finding), sends(two, visit))

    assert set(FieldOperation.objects.values_list("state", flat=True)) == {"APPLIED"}
    assert (Visit.objects.count(), Finding.objects.count()) == (ROUNDS, ROUNDS)


def test_one_operation_four_times_at_once_is_one_entry(shared_database):
    phone, roof = make_phone(), make_roof()
    for _ in range(ROUNDS):
        answers = at_once(*[sends(phone, op("climate", roof))] * 4)

        assert sum(answer.is_new for answer in answers) == 1
    assert LedgerEntry.objects.filter(roof=roof, kind="climate").count() == ROUNDS


def test_wrong_codes_at_once_are_counted_each(shared_database):
    def tries():
        return pair(code="WRONG222", device_name="x", address="192.0.2.1", now=NOON)

    answers = at_once(*[tries] * 16)

    judged = [each for each in answers if not isinstance(each, TooManyCodes)]
    assert len(judged) <= 10
