"""A row is claimed by one, done once, and never lost."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fleet.errors import DomainError
from jobs import relay, runs
from jobs.models import Lane, Run, RunState
from jobs.work import LEASE, LeaseLost, Work
from tests.jobs.later import NOON, HandClock, around, make_run, raising, returning

pytestmark = pytest.mark.django_db


def hold(run: Run, clock: HandClock) -> Work:
    """Claim a row and return the work that holds it."""
    claimed = relay.claim_one(run_id=run.pk, now=clock())
    return Work(
        run_id=claimed.pk,
        uuid=claimed.uuid,
        payload={},
        requested_by_id=None,
        owner_id=None,
        token=claimed.lease_token,
        clock=clock,
        is_stopping=bool,
    )


class TestClaim:
    def test_a_claim_holds_the_row_for_one_lease(self):
        make_run()

        run = relay.claim(now=NOON)

        assert (run.state, run.starts, run.lease_token) == (RunState.RUNNING, 1, 1)
        assert run.lease_until == NOON + LEASE

    def test_a_held_row_cannot_be_claimed(self):
        run = make_run()
        relay.claim(now=NOON)

        assert relay.claim(now=NOON + LEASE) is None
        assert relay.claim_one(run_id=run.pk, now=NOON + LEASE) is None

    def test_a_row_whose_lease_ran_out_is_claimed_again_under_a_new_token(self):
        make_run()
        relay.claim(now=NOON)

        again = relay.claim(now=NOON + LEASE + timedelta(seconds=1))

        assert (again.lease_token, again.starts) == (2, 2)
        assert again.last_error == relay.WAS_STOPPED

    def test_the_longest_waiting_row_comes_first(self):
        make_run(now=NOON)
        older = make_run(now=NOON - timedelta(hours=1))

        assert relay.claim(now=NOON).pk == older.pk

    def test_a_row_that_is_not_due_waits(self):
        make_run(now=NOON + timedelta(seconds=1))

        assert relay.claim(now=NOON) is None

    def test_long_work_waits_for_short_work(self):
        make_run(lane=Lane.HEAVY, now=NOON - timedelta(hours=1))
        short = make_run()

        assert relay.claim(now=NOON).pk == short.pk

    def test_only_the_lanes_asked_for_are_claimed(self):
        make_run(lane=Lane.HEAVY)

        assert relay.claim(now=NOON, lanes=(Lane.DEFAULT, Lane.NOTICES)) is None


class TestSweep:
    def test_a_run_is_done_with_its_result(self):
        run = make_run()

        starts = relay.sweep(around(returning({"packet": "p1"})))

        run.refresh_from_db()
        assert starts == 1
        assert (run.state, run.result) == (RunState.DONE, {"packet": "p1"})
        assert (run.finished_at, run.lease_until) == (NOON, None)

    def test_a_second_sweep_finds_nothing(self):
        make_run()
        relay.sweep(around(returning({})))

        assert relay.sweep(around(returning({}))) == 0

    def test_a_failed_start_waits_longer_each_time(self):
        run = make_run()
        clock = HandClock()
        waits_s = []

        for _ in range(4):
            relay.sweep(around(raising(OSError("disk full")), clock=clock))
            run.refresh_from_db()
            waits_s.append((run.available_at - clock.at).total_seconds())
            clock.at = run.available_at

        assert waits_s == [2.5, 10.0, 40.0, 160.0]
        assert (run.state, run.last_error) == (RunState.NEW, "OSError: disk full")

    def test_the_fifth_failed_start_sets_the_run_aside_with_its_reason(self):
        run = make_run()
        clock = HandClock()

        for _ in range(5):
            relay.sweep(around(raising(OSError("disk full")), clock=clock))
            clock.move(hours=1)

        run.refresh_from_db()
        assert (run.state, run.starts) == (RunState.DEAD, 5)
        assert run.last_error == "OSError: disk full"

    def test_a_refusal_is_final_at_once(self):
        run = make_run()

        relay.sweep(around(raising(DomainError("No such claim. Open one first."))))

        run.refresh_from_db()
        assert (run.state, run.starts) == (RunState.DEAD, 1)
        assert run.last_error == "No such claim. Open one first."

    def test_a_kind_that_nobody_handles_is_set_aside(self):
        run = make_run(kind="unheard_of")

        relay.sweep(around(returning({})))

        run.refresh_from_db()
        assert run.state == RunState.DEAD
        assert "unheard_of" in run.last_error

    def test_a_run_that_kills_five_runners_is_set_aside(self):
        run = make_run()
        clock = HandClock()
        for _ in range(5):
            relay.claim(now=clock.at)
            clock.at += LEASE + timedelta(seconds=1)

        relay.sweep(around(returning({}), clock=clock))

        run.refresh_from_db()
        assert (run.state, run.starts) == (RunState.DEAD, 5)
        assert "stopped 5 times" in run.last_error

    def test_a_failing_run_holds_up_no_other(self):
        make_run(kind="unheard_of")
        good = make_run()

        assert relay.sweep(around(returning({}))) == 2
        good.refresh_from_db()
        assert good.state == RunState.DONE

    def test_a_stopping_runner_starts_nothing(self):
        make_run()

        assert relay.sweep(around(returning({}), is_stopping=lambda: True)) == 0

    def test_a_stop_gives_the_run_back_uncounted(self):
        run = make_run()
        asked = []

        def step_until_stopped(work: Work):
            asked.append(True)
            work.progress.total(10)
            work.progress.step("first of ten")
            raise AssertionError("a step after the stop")

        relay.sweep(around(step_until_stopped, is_stopping=lambda: bool(asked)))

        run.refresh_from_db()
        assert (run.state, run.starts, run.progress_done) == (RunState.NEW, 0, 1)


class TestFencing:
    def test_the_effect_of_a_lost_lease_is_rolled_back(self):
        clock = HandClock()
        run = make_run()
        slow = hold(run, clock)
        clock.at += LEASE + timedelta(seconds=1)
        hold(run, clock)

        with pytest.raises(LeaseLost):
            slow.finish(lambda: {"by": str(make_run(kind="effect").uuid)})

        assert not Run.objects.filter(kind="effect").exists()

    def test_a_lost_lease_writes_no_batch(self):
        clock = HandClock()
        run = make_run()
        slow = hold(run, clock)
        clock.at += LEASE + timedelta(seconds=1)
        hold(run, clock)

        with pytest.raises(LeaseLost), slow.writing():
            make_run(kind="effect")

        assert not Run.objects.filter(kind="effect").exists()

    def test_an_effect_that_fails_leaves_the_run_unfinished(self):
        run = make_run()

        def effect():
            make_run(kind="effect")
            raise OSError("disk full")

        relay.sweep(around(lambda work: effect))

        run.refresh_from_db()
        assert run.state == RunState.NEW
        assert not Run.objects.filter(kind="effect").exists()

    def test_a_late_finish_counts_while_nobody_else_took_the_run(self):
        clock = HandClock()
        run = make_run()
        slow = hold(run, clock)
        clock.at += 2 * LEASE

        slow.finish(dict)

        run.refresh_from_db()
        assert run.state == RunState.DONE


class TestProgress:
    def test_steps_are_written_at_most_once_a_second(self, django_assert_num_queries):
        clock = HandClock()
        work = hold(make_run(), clock)
        work.progress.total(100)

        with django_assert_num_queries(2):
            for _ in range(20):
                clock.move(seconds=0.125)
                work.progress.step("reading")

    def test_a_step_renews_the_lease(self):
        clock = HandClock()
        run = make_run()
        work = hold(run, clock)

        for _ in range(5):
            clock.at += LEASE - timedelta(seconds=1)
            work.progress.step("still here")

        assert relay.claim_one(run_id=run.pk, now=clock.at) is None

    def test_a_step_of_a_lost_lease_stops_the_handler(self):
        clock = HandClock()
        run = make_run()
        slow = hold(run, clock)
        clock.at += LEASE + timedelta(seconds=1)
        hold(run, clock)

        with pytest.raises(LeaseLost):
            slow.progress.step("too late")

    def test_steps_beyond_the_total_stay_at_the_total(self):
        clock = HandClock()
        run = make_run()
        work = hold(run, clock)
        work.progress.total(2)
        clock.move(seconds=2)

        work.progress.step("more than thought", steps=3)

        run.refresh_from_db()
        assert (run.progress_done, run.progress_total) == (2, 2)
        assert run.progress_note == "more than thought"


@pytest.mark.parametrize("starts", [1, 2, 3, 4])
def test_the_pause_lies_between_half_and_full(starts):
    full_s = 5.0 * 4.0 ** (starts - 1)

    assert relay.pause_after(starts, 0.0).total_seconds() == full_s / 2
    assert relay.pause_after(starts, 1.0).total_seconds() == full_s


class TestRetry:
    def test_a_run_set_aside_gets_five_new_starts(self):
        run = make_run()
        relay.sweep(around(raising(DomainError("No."))))

        runs.retry(run, now=NOON)
        relay.sweep(around(returning({"ok": 1})))

        run.refresh_from_db()
        assert (run.state, run.starts, run.last_error) == (RunState.DONE, 1, "")

    def test_only_a_run_set_aside_is_tried_again(self):
        with pytest.raises(runs.RunNotSetAside):
            runs.retry(make_run(), now=NOON)
