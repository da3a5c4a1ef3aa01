"""What the office sees of later work, and the banner when nobody is at work."""

from __future__ import annotations

from datetime import timedelta

import pytest

from jobs import beats, selectors
from jobs.models import Lane, Run, RunState
from tests import builders
from tests.jobs.later import make_run

LIST = "/later-work/"
IDLE = "Nobody is at work on"


@pytest.fixture
def dead(world) -> Run:
    run = make_run(kind="claim_packet", lane=Lane.HEAVY, now=builders.NOON)
    Run.objects.filter(pk=run.pk).update(
        state=RunState.DEAD, finished_at=builders.NOON, starts=5, last_error="OSError"
    )
    return run


class TestThePage:
    def test_it_counts_what_waits_runs_and_was_set_aside(self, world, dead):
        make_run(now=builders.NOON - timedelta(minutes=2))

        later = world.office.get(LIST).context["later"]

        counts = {lane.lane: (lane.waiting, lane.set_aside) for lane in later.lanes}
        assert counts == {
            "DEFAULT": (1, 0),
            "NOTICES": (0, 0),
            "WEBHOOKS": (0, 0),
            "HEAVY": (0, 1),
        }
        assert later.oldest_waiting_s == 120.0

    def test_what_is_due_later_is_not_called_late(self, world):
        make_run(now=builders.NOON + timedelta(days=3))

        later = world.office.get(LIST).context["later"]

        assert (later.lanes[0].waiting, later.lanes[0].planned) == (0, 1)
        assert later.oldest_waiting_s == 0.0

    def test_a_dead_run_is_tried_again_by_its_button(self, world, dead):
        page = world.office.get(LIST, {"state": "DEAD"})
        assert "OSError" in page.text
        assert f"/runs/{dead.uuid}/retry" in page.text

        world.office.post(f"/runs/{dead.uuid}/retry")

        dead.refresh_from_db()
        assert (dead.state, dead.starts) == (RunState.NEW, 0)

    def test_only_the_office_sees_it_and_tries_again(self, world, dead):
        assert world.manager.get(LIST).status_code == 403
        assert world.technician.get(LIST).status_code == 403
        assert world.manager.post(f"/runs/{dead.uuid}/retry").status_code == 403
        assert world.nobody.get(LIST).status_code == 302
        dead.refresh_from_db()
        assert dead.state == RunState.DEAD

    def test_it_filters_and_sorts(self, world, dead):
        late = make_run(now=builders.NOON - timedelta(hours=1))
        new = make_run(now=builders.NOON)

        newest = world.office.get(LIST, {"state": "NEW"}).context["found"].rows
        oldest = world.office.get(LIST, {"state": "NEW", "sort": "oldest"})

        assert [run.pk for run in newest] == [new.pk, late.pk]
        assert [run.pk for run in oldest.context["found"].rows] == [late.pk, new.pk]
        lane = world.office.get(LIST, {"lane": "HEAVY"}).context["found"]
        assert [run.pk for run in lane.rows] == [dead.pk]

    def test_its_queries_do_not_grow_with_the_list(
        self,
        world,
        django_assert_num_queries,
    ):
        make_run()
        world.office.get(LIST)
        with django_assert_num_queries(7):
            world.office.get(LIST)
        for _ in range(60):
            make_run(owner=world.fleet, by=builders.office())

        with django_assert_num_queries(7):
            assert world.office.get(LIST).context["found"].pages == 2


class TestTheBanner:
    def test_it_stands_on_every_page_while_nobody_is_at_work(self, world):
        for client in (world.office, world.technician, world.manager):
            assert IDLE in client.get("/roofs/").text

    def test_it_names_the_lane_that_is_left_alone(self, world):
        beats.beat("shed:1", builders.NOON, [Lane.DEFAULT, Lane.NOTICES, Lane.HEAVY])

        text = world.office.get("/claims/").text

        assert f"{IDLE} webhooks:" in text

    def test_it_goes_with_the_first_beat(self, world):
        beats.beat("shed:1", builders.NOON)

        assert IDLE not in world.office.get("/roofs/").text

    def test_a_worker_too_busy_to_beat_counts_by_its_lease(self, world):
        run = make_run(lane=Lane.WEBHOOKS)
        Run.objects.filter(pk=run.pk).update(
            state=RunState.RUNNING, lease_until=builders.NOON + timedelta(seconds=90)
        )

        assert "webhooks" not in selectors.lanes_without_worker(builders.NOON)

    def test_a_visitor_who_is_not_signed_in_is_told_nothing(self, world):
        assert IDLE not in world.nobody.get("/sign-in").text


def test_the_api_tells_the_same(world, dead):
    told = world.office.get("/api/v1/later-work").json()

    assert {lane["lane"]: lane["set_aside"] for lane in told["lanes"]} == {
        "DEFAULT": 0,
        "NOTICES": 0,
        "WEBHOOKS": 0,
        "HEAVY": 1,
    }
    assert world.manager.get("/api/v1/later-work").status_code == 403
