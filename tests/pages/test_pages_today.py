"""The first page of the day: each thing once, the most pressing first."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions.readings import dry_reading
from fleet.actions.roofs import record, record_visit
from fleet.models import Finding
from jobs.models import Run, RunState
from tests import builders
from tests.jobs.later import make_run
from warranty.models import Standing

PAGE = "/today/"
FIVE_DAYS = timedelta(days=5)


def found(client):
    return client.get(PAGE).context["today"]


def due_on(roof, day) -> None:
    """Say that a roof's next inspection is due on a day, as the sweep found it."""
    Standing.objects.filter(roof=roof).update(next_due_on=day, word="IN_FORCE")


@pytest.fixture
def grace(world):
    return world.fleet_roof.coverage.edition.grace_days


class TestClaims:
    def test_a_claim_to_answer_is_there(self, world):
        claim = builders.make_claim(world.fleet_roof, ref="C-7001")

        answer = world.office.get(PAGE)

        assert [row.claim for row in answer.context["today"].claims] == [claim]
        assert f"/claims/{claim.uuid}/" in answer.text

    def test_a_manager_sees_own_claims_only(self, world):
        builders.make_claim(world.private_roof, ref="C-1")

        assert found(world.manager).claims_count == 0


class TestGrace:
    @pytest.mark.parametrize(("late", "is_there"), [(0, False), (1, True)])
    def test_begins_the_day_after_the_due_day(self, world, late, is_there):
        due_on(world.fleet_roof, builders.TODAY - timedelta(days=late))

        assert (found(world.office).graces_count == 1) is is_there

    @pytest.mark.parametrize(("over", "is_there"), [(0, True), (1, False)])
    def test_ends_with_its_last_day(self, world, grace, over, is_there):
        due_on(world.fleet_roof, builders.TODAY - timedelta(days=grace + over))

        assert (found(world.office).graces_count == 1) is is_there

    def test_the_earliest_limit_comes_first(self, world):
        due_on(world.private_roof, builders.TODAY - timedelta(days=2))
        due_on(world.fleet_roof, builders.TODAY - timedelta(days=5))

        rows = found(world.office).graces

        assert [row.by for row in rows] == sorted(row.by for row in rows)
        assert len(rows) == 2


def soon(world):
    """Return a day so long ago that five of the edition's cure days are left."""
    days = world.fleet_roof.coverage.edition.serious_cure_days
    return builders.TODAY + FIVE_DAYS - timedelta(days=days)


def serious(roof, day, *, cured: bool = False):
    seen = Finding(happened_on=day, severity="SERIOUS", cause="split")
    told = {"roof": roof, "by": builders.office(), "now": builders.NOON}
    record(kind="finding", facts=[seen], **told)
    if cured:
        record_visit(ref="R-1", kind="REPAIR", happened_on=day, cured=[seen], **told)


class TestSeriousFindings:
    def test_an_open_one_is_there_until_it_is_cured(self, world):
        day = soon(world)
        serious(world.fleet_roof, day)
        serious(world.private_roof, day, cured=True)

        rows = found(world.office).findings

        assert [row.roof for row in rows] == [world.fleet_roof]

    def test_its_limit_is_the_editions(self, world):
        day = soon(world)
        serious(world.fleet_roof, day)

        row = found(world.office).findings[0]

        assert (row.by, row.days_left) == (builders.TODAY + FIVE_DAYS, 5)


def test_a_film_that_was_not_accepted_is_there(world):
    thin = [
        dry_reading(
            coat="base",
            area_no=1,
            spot_no=1,
            shot_no=shot,
            method="EDDY_CURRENT",
            value=Decimal(1),
            unit="mil",
            happened_on=builders.COMPLETED,
        )
        for shot in (11, 12, 13, 14, 15, 16, 17, 18)
    ]
    record(
        roof=world.fleet_roof,
        kind="film",
        facts=thin,
        by=builders.office(),
        now=builders.NOON,
    )

    assert [row.roof for row in found(world.office).films] == [world.fleet_roof]


def set_aside() -> Run:
    run = make_run()
    Run.objects.filter(pk=run.pk).update(
        state=RunState.DEAD, last_error="no paper", finished_at=builders.NOON
    )
    return run


class TestTheOfficesOwn:
    def test_work_set_aside_is_told_with_a_link(self, world):
        run = set_aside()

        assert f"/runs/{run.uuid}/" in world.office.get(PAGE).text

    @pytest.mark.parametrize("who", ["manager", "technician"])
    def test_nobody_else_sees_it(self, world, who):
        run = set_aside()

        assert str(run.uuid) not in getattr(world, who).get(PAGE).text


def test_a_calm_day_says_so(world):
    assert "Nothing asks for a hand." in world.stranger.get(PAGE).text


def test_asks_the_database_the_same_for_one_roof_and_for_many(
    world, django_assert_max_num_queries
):
    for _ in range(3):
        due_on(builders.make_promised_roof(), builders.TODAY - timedelta(days=1))
    for number in range(3):
        builders.make_claim(world.fleet_roof, ref=f"C-{number}")

    with django_assert_max_num_queries(24):
        world.office.get(PAGE)


def test_the_start_leads_here(world):
    assert world.office.get("/").url == PAGE
