"""A dry gauge at an inspection makes spots of its own, whatever number they carry."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from fleet.actions.readings import dry_reading
from fleet.actions.roofs import record
from fleet.models import CoatRole, FilmMethod
from fleet.selectors.film import coat_verdicts, film_steps
from fleet.selectors.records import RoofRecords, roof_records
from tests.builders import COMPLETED, make_promised_roof, make_reading, office

pytestmark = pytest.mark.django_db
INSPECTED = COMPLETED + timedelta(days=300)


def read_dry(roof, value: str, on: date = INSPECTED, shots: int = 3) -> None:
    """Read area 1, spot 1 with a dry gauge."""
    rows = [
        dry_reading(
            coat=CoatRole.BASE,
            area_no=1,
            spot_no=1,
            shot_no=shot,
            method=FilmMethod.CUT_FILM,
            value=Decimal(value),
            unit="mil",
            happened_on=on,
        )
        for shot in range(1, shots + 1)
    ]
    record(roof=roof, kind="film", facts=rows, by=office(), now=timezone.now())


def records_of(roof) -> RoofRecords:
    return roof_records([roof.pk], known_at=timezone.now())[roof.pk]


def spots_of(roof) -> list[tuple[int, int, float]]:
    [coat, *_] = coat_verdicts(records_of(roof), as_of=INSPECTED)
    return [(s.spot, s.readings, round(s.mean_mil, 3)) for s in coat.judged.spots]


def test_an_inspections_readings_are_no_part_of_the_laid_spot():
    roof = make_promised_roof()
    laid = spots_of(roof)

    read_dry(roof, "13.5")

    assert spots_of(roof) == [*laid, (max(spot for spot, _, _ in laid) + 1, 3, 13.5)]


def test_a_thin_spot_of_a_later_day_is_not_hidden_in_a_mean():
    # 3 readings of 12 mil laid and 3 of 7.5 measured have a mean of 9.75: within 80 %
    # of the 12 mil minimum. Alone the later ones are not.
    roof = make_promised_roof()

    read_dry(roof, "7.5")

    steps = film_steps({roof.pk: records_of(roof)})[roof.pk]
    assert [step.verdict.name for step in steps][-1] == "NOT_MET"
    assert steps[-1].from_on == INSPECTED


def test_two_readings_of_a_later_visit_do_not_spoil_a_laid_spot():
    roof = make_promised_roof()
    before = film_steps({roof.pk: records_of(roof)})[roof.pk][-1].verdict

    read_dry(roof, "2", shots=2)

    assert film_steps({roof.pk: records_of(roof)})[roof.pk][-1].verdict is before


def test_what_is_read_on_the_day_of_completion_goes_on_with_the_same_spot():
    roof = make_promised_roof()
    more = make_reading(shot_no=4, happened_on=COMPLETED)
    record(roof=roof, kind="film", facts=[more], by=office(), now=timezone.now())

    assert spots_of(roof)[0][:2] == (1, 4)


def test_two_later_days_are_two_spots():
    roof = make_promised_roof()
    laid = len(spots_of(roof))

    read_dry(roof, "13", INSPECTED - timedelta(days=30))
    read_dry(roof, "13", INSPECTED)

    assert len(spots_of(roof)) == laid + 2
