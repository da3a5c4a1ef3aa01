"""Rows of one recording may name each other, whatever was appended first."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fleet.actions.recording import recording
from fleet.actions.roofs import record_visit
from fleet.models import Cure, Finding, Severity, VisitKind
from tests.builders import COMPLETED, NOON, make_installed_roof, office


@pytest.mark.django_db
def test_a_cure_of_an_old_finding_may_come_before_a_new_finding():
    roof, by = make_installed_roof(), office()
    old, new = (
        Finding(happened_on=COMPLETED, severity=Severity.SERIOUS) for _ in range(2)
    )

    def visit(ref: str, kind: str, days: int, **over: object) -> None:
        on = COMPLETED + timedelta(days=days)
        record_visit(
            roof=roof, ref=ref, kind=kind, happened_on=on, by=by, now=NOON, **over
        )

    visit("V1", VisitKind.INSPECTION, 1, findings=[old])
    with recording(by=by, now=NOON):
        visit("V2", VisitKind.REPAIR, 2, cured=[old])
        visit("V3", VisitKind.INSPECTION, 3, findings=[new])
        visit("V4", VisitKind.REPAIR, 4, cured=[new])

    assert set(Cure.objects.values_list("finding", flat=True)) == {old.pk, new.pk}
