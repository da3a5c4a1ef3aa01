"""Starting a run: with the caller's rows or not at all, and once a key."""

from __future__ import annotations

import pytest
from django.db import transaction

from fleet.models import Owner, OwnerKind
from fleet.scope import NOTHING, Scope, Sight
from jobs import beats, bell, runs, schedule, selectors
from jobs.models import Lane, Run, RunnerBeat, RunState
from tests.jobs.later import NOON, HandClock, make_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def rung(monkeypatch) -> list[dict[str, object]]:
    """Collect the bells instead of ringing them."""
    heard: list[dict[str, object]] = []
    monkeypatch.setattr(bell, "ring", lambda **call: heard.append(call))
    return heard


class TestStart:
    def test_the_bell_rings_after_commit(
        self, rung, django_capture_on_commit_callbacks
    ):
        with django_capture_on_commit_callbacks(execute=True):
            run = make_run(lane=Lane.HEAVY)
            assert rung == []

        assert rung == [{"run_id": run.pk, "lane": "HEAVY"}]

    def test_a_rolled_back_caller_leaves_no_run_and_no_bell(
        self, rung, django_capture_on_commit_callbacks
    ):
        def start_then_fail():
            with transaction.atomic():
                make_run()
                raise OSError("disk full")

        with (
            django_capture_on_commit_callbacks(execute=True),
            pytest.raises(OSError, match="disk full"),
        ):
            start_then_fail()

        assert rung == []
        assert not Run.objects.exists()

    def test_the_same_key_is_the_same_run(
        self, rung, django_capture_on_commit_callbacks
    ):
        with django_capture_on_commit_callbacks(execute=True):
            first = make_run(dedupe_key="packet:7")
            second = make_run(dedupe_key="packet:7")

        assert first.pk == second.pk
        assert len(rung) == 1

    def test_a_bell_that_breaks_harms_nobody(
        self, monkeypatch, django_capture_on_commit_callbacks
    ):
        def break_bell(**_call):
            raise RuntimeError("no clapper")

        monkeypatch.setattr(bell, "ring", break_bell)

        with django_capture_on_commit_callbacks(execute=True):
            run = make_run()

        assert Run.objects.get().pk == run.pk

    def test_without_a_broker_no_bell_rings(self, settings):
        settings.BROKER_URL = ""

        assert not bell.ring(run_id=1, lane=Lane.DEFAULT)


class TestVisibleTo:
    @pytest.fixture
    def owners(self):
        kind = OwnerKind.RENTAL_FLEET
        return [Owner.objects.create(kind=kind, name=name) for name in ("A", "B")]

    @pytest.fixture
    def seen(self, owners):
        made = {owner.name: make_run(owner=owner) for owner in owners}
        made["office"] = make_run()

        def names(scope: Scope) -> set[str]:
            visible = set(runs.visible_to(scope))
            return {name for name, run in made.items() if run in visible}

        return names

    def test_the_office_sees_every_run(self, seen):
        assert seen(Scope(sight=Sight.EVERYTHING)) == {"A", "B", "office"}

    def test_a_fleet_sees_its_own_runs(self, seen, owners):
        scope = Scope(sight=Sight.OWN_COACHES, owner_ids=(owners[0].pk,))

        assert seen(scope) == {"A"}

    def test_a_stranger_sees_nothing(self, seen):
        assert seen(NOTHING) == set()


class TestSchedule:
    RECURRING = (
        schedule.Recurring(kind="count", every=schedule.timedelta(seconds=60)),
    )

    def put_back(self, clock: HandClock) -> int:
        return schedule.put_back_due(clock.at, self.RECURRING)

    def test_a_recurring_run_has_one_row(self):
        clock = HandClock()

        assert self.put_back(clock) == 1
        assert self.put_back(clock) == 0
        assert Run.objects.get().dedupe_key == "every:count"

    def test_a_done_run_comes_back_after_its_interval(self):
        clock = HandClock()
        self.put_back(clock)
        Run.objects.update(state=RunState.DONE, finished_at=clock.at)

        clock.move(seconds=59)
        assert self.put_back(clock) == 0
        clock.move(seconds=1)
        assert self.put_back(clock) == 1
        assert Run.objects.get().state == RunState.NEW

    def test_a_run_set_aside_comes_back_after_a_quarter_of_an_hour(self):
        clock = HandClock()
        self.put_back(clock)
        Run.objects.update(
            state=RunState.DEAD, finished_at=clock.at, starts=5, last_error="away"
        )

        clock.move(minutes=14)
        assert self.put_back(clock) == 0
        clock.move(minutes=1)
        assert self.put_back(clock) == 1
        assert Run.objects.get().starts == 0


class TestBeat:
    def test_a_beat_is_written_at_most_every_five_seconds(self):
        clock = HandClock()
        for _ in range(7):
            beats.beat("shed:1", clock.at)
            clock.move(seconds=1)

        [seen_at] = set(RunnerBeat.objects.values_list("seen_at", flat=True))
        assert (seen_at - NOON).total_seconds() == 5

    def test_a_new_runner_clears_those_not_seen_for_a_day(self):
        clock = HandClock()
        beats.beat("shed:1", clock.at)
        clock.move(hours=25)

        beats.beat("shed:2", clock.at)

        names = set(RunnerBeat.objects.values_list("name", flat=True))
        assert names == {"shed:2"}


class TestSummary:
    def test_the_later_work_is_counted_by_state(self):
        clock = HandClock()
        make_run()
        aside = make_run()
        Run.objects.filter(pk=aside.pk).update(
            state=RunState.DEAD, finished_at=NOON, last_error="away"
        )
        beats.beat("shed:1", clock.at)
        clock.move(seconds=59)

        summary = selectors.later_work_summary(clock.at)

        assert (summary.waiting, summary.running, summary.set_aside) == (1, 0, 1)
        assert summary.oldest_waiting_s == 59.0
        assert summary.is_runner_alive

    def test_a_runner_not_seen_for_a_minute_is_not_alive(self):
        clock = HandClock()
        beats.beat("shed:1", clock.at)
        clock.move(seconds=60)

        assert not selectors.later_work_summary(clock.at).is_runner_alive

    def test_no_runner_at_all_is_not_alive(self):
        assert not selectors.later_work_summary(NOON).is_runner_alive
