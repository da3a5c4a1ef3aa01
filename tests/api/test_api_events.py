"""The feed of changes: gapless, in commit order, each stream for its own readers."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest
from django.db import connection
from django.utils import timezone

from fleet.actions.coaches import describe_coach, hand_over, merge_coaches, merge_owners
from fleet.actions.day_turn import follow_new_holders
from fleet.models import Event, EventStream
from tests import services
from tests.api import records
from tests.api.test_api_later import work_off
from tests.api.test_api_problems import problem_of
from tests.builders import make_description
from tests.drills.test_ledger_writers import until_let_in
from warranty.actions.reassess import reassess, reassess_due
from warranty.models import Standing

EVENTS = "/api/v1/events"
JSON = "application/json"


def follow(client, after: int = 0, page_size: int = 3) -> list[dict]:
    """Return what a poller reads behind a position until nothing is new."""
    read = []
    while True:
        page = client.get(f"{EVENTS}?after={after}&page_size={page_size}").json()
        read += page["results"]
        after = page["after"]
        if not page["has_more"]:
            return read


def end(client) -> int:
    read = follow(client, page_size=1000)
    return read[-1]["position"] if read else 0


def told(client, after: int) -> list[tuple[str, str, str]]:
    return [(e["kind"], e["subject"], e["detail"]) for e in follow(client, after)]


class TestWhatIsTold:
    def test_positions_have_no_gap_and_start_at_one(self, world):
        records.film(world.roof, world.office_user, spots=3)

        for who in (world.manager, world.office):
            read = follow(who)
            assert [e["position"] for e in read] == list(range(1, len(read) + 1))
            assert read

    def test_a_visit_its_findings_and_its_standing(self, world):
        after = end(world.manager)
        body = {
            "roof": str(world.roof.uuid),
            "ref": "V-1",
            "kind": "INSPECTION",
            "happened_on": "2025-05-20",
            "result": "PASS",
            "findings": [{"severity": "NOTE"}],
        }
        visit = world.technician.post("/api/v1/visits", body, content_type=JSON).json()

        roof = str(world.roof.uuid)
        assert ("VISIT", visit["uuid"], "visits") in told(world.manager, after)
        assert ("ROOF", roof, "findings") in told(world.manager, after)
        assert [e for e in follow(world.manager, after) if e["entry_seq"]]

    def test_readings_of_one_recording_are_one_event_with_their_entry(self, world):
        after = end(world.manager)

        records.film(world.roof, world.office_user, spots=5)

        read = [e for e in follow(world.manager, after) if e["kind"] == "READINGS"]
        [event] = read
        assert event["detail"] == "film-readings"
        found = world.manager.get(
            f"/api/v1/film-readings?roof={event['roof']}&entry_from={event['entry_seq']}"
        ).json()["results"]
        assert len(found) == 5

    def test_a_standing_is_told_with_its_word_also_when_a_day_changes_it(self, world):
        after = end(world.manager)
        Standing.objects.update(
            word="IN_FORCE", as_of="2025-01-01", holds_until="2025-01-02"
        )

        reassess_due(now=timezone.now())

        word = Standing.objects.get(roof=world.roof).word
        assert told(world.manager, after) == [("STANDING", str(world.roof.uuid), word)]

    def test_a_standing_that_stays_is_not_told(self, world):
        reassess([world.roof.pk], now=timezone.now())
        after = end(world.manager)

        reassess([world.roof.pk], now=timezone.now())

        assert told(world.manager, after) == []

    def test_a_claim_and_its_document(self, world):
        after = end(world.manager)
        loss = {
            "roof": str(world.roof.uuid),
            "noticed_on": "2025-03-01",
            "reported_on": "2025-03-02",
            "description": "drip",
        }
        claim = world.manager.post("/api/v1/claims", loss, content_type=JSON).json()
        assert ("CLAIM", claim["uuid"], "") in told(world.manager, after)

        between = end(world.manager)
        world.office.post(f"/api/v1/claims/{claim['uuid']}/packet")
        work_off()

        [packet] = world.manager.get(f"/api/v1/claims/{claim['uuid']}/packets").json()[
            "results"
        ]
        assert ("DOCUMENT", packet["uuid"], "packets") in told(world.manager, between)

        between = end(world.manager)
        world.manager.post(
            f"/api/v1/claims/{claim['uuid']}/withdraw",
            {"why": "dried"},
            content_type=JSON,
        )
        assert ("CLAIM", claim["uuid"], "") in told(world.manager, between)

    def test_a_refused_request_tells_nothing(self, world):
        after = end(world.office)

        world.office.post("/api/v1/visits", {"roof": "x"}, content_type=JSON)

        assert follow(world.office, after) == []


class TestWhoIsTold:
    def test_a_sale_tells_the_former_and_the_next_holder(self, world):
        before, after = end(world.manager), end(world.stranger)
        buyer = world.stranger.get("/api/v1/me").json()["owner"]

        records.sell(world.coach, records.owner_of(buyer), world.office_user)

        coach = str(world.coach.uuid)
        assert ("COACH", coach, "left") in told(world.manager, before)
        assert ("COACH", coach, "held") in told(world.stranger, after)
        assert ("COACH", coach, "held") not in told(world.manager, before)

    def test_a_sale_of_tomorrow_is_told_tomorrow(self, world):
        buyer = records.owner_of(world.stranger.get("/api/v1/me").json()["owner"])
        hand_over(
            coach=world.coach,
            owner=buyer,
            from_on=date(2025, 7, 1),
            by=world.office_user,
            now=records.SOLD_AT,
        )
        assert follow(world.stranger) == []

        follow_new_holders(now=records.SOLD_AT.replace(month=7))

        assert ("COACH", str(world.coach.uuid), "held") in told(world.stranger, 0)

    def test_a_claim_after_a_sale_is_told_to_its_own_holder_alone(self, world):
        loss = {
            "roof": str(world.roof.uuid),
            "noticed_on": "2025-03-01",
            "reported_on": "2025-03-02",
            "description": "drip",
        }
        claim = world.manager.post("/api/v1/claims", loss, content_type=JSON).json()
        buyer = records.owner_of(world.stranger.get("/api/v1/me").json()["owner"])
        records.sell(world.coach, buyer, world.office_user)
        before, after = end(world.manager), end(world.stranger)

        world.office.post(
            f"/api/v1/claims/{claim['uuid']}/wait",
            {"why": "which vent"},
            content_type=JSON,
        )

        assert ("CLAIM", claim["uuid"], "") in told(world.manager, before)
        assert [k for k, *_ in told(world.stranger, after) if k == "CLAIM"] == []

    def test_a_stranger_reads_nothing_of_another_fleet(self, world):
        assert follow(world.stranger) == []
        assert follow(world.office)

    def test_an_owner_merged_into_another_is_told_in_that_one_s_stream(self, world):
        kept = records.owner("Sandbar Hire")
        other = records.client_of(records.manager_of(kept))
        merge_owners(
            kept=kept,
            dropped=world.holder,
            why="double",
            by=world.office_user,
            now=records.SOLD_AT,
        )

        assert ("COACH", str(world.coach.uuid), "held") in told(other, 0)
        after = end(other)
        world.coach.refresh_from_db()
        describe_coach(
            coach=world.coach,
            described=make_description(),
            by=world.office_user,
            now=timezone.now(),
        )
        assert ("COACH", str(world.coach.uuid), "") in told(other, after)
        assert told(world.manager, after) == told(other, after)

    def test_a_coach_merged_into_another_is_told(self, world):
        double = records.coach(world.office_user, world.holder)
        after = end(world.manager)

        merge_coaches(
            kept=world.coach,
            dropped=double,
            why="double",
            by=world.office_user,
            now=records.SOLD_AT,
        )

        assert ("COACH", str(double.uuid), "merged") in told(world.manager, after)

    def test_nobody_is_asked_to_sign_in(self, world):
        problem_of(world.nobody.get(EVENTS), 401, "not-authenticated")


class TestAsking:
    @pytest.mark.parametrize(
        "query",
        ["after=-1", "after=x", f"after={10**18 + 1}", "page_size=0", "kind=SALE"],
    )
    def test_what_cannot_be_used_is_refused(self, world, query):
        problem_of(world.office.get(f"{EVENTS}?{query}"), 400, "invalid-parameter")

    def test_the_next_address_stands_in_the_link_header(self, world):
        first = world.office.get(f"{EVENTS}?page_size=2")
        address = first.headers["Link"].split(">")[0].removeprefix("<")

        rest = world.office.get(address).json()["results"]

        assert rest[0]["position"] == 3
        assert "page_size=2" in address

    def test_one_kind_alone_keeps_its_positions(self, world):
        every = [e for e in follow(world.office) if e["kind"] == "ROOF"]

        page = world.office.get(f"{EVENTS}?kind=ROOF&page_size=1000").json()

        assert page["results"] == every

    def test_more_events_ask_no_more_queries(self, world, django_assert_num_queries):
        address = f"{EVENTS}?page_size=1000"
        world.manager.get(address)
        with django_assert_num_queries(5) as few:
            world.manager.get(address)
        for _ in range(4):
            records.film(world.roof, world.office_user)
        with django_assert_num_queries(len(few)):
            world.manager.get(address)

    def test_what_was_read_is_never_changed(self, world):
        follow(world.office)

        with pytest.raises(Exception, match="never updated or deleted"):
            Event.objects.update(detail="other")


@pytest.mark.slow
class TestWritersAtOnce:
    WRITERS = 8
    ROUNDS = 6
    TOGETHER = 8 if services.is_suite_on_postgresql() else 3

    def test_a_poller_misses_none_and_sees_none_twice(self, shared_database):
        office = records.person()
        holders = [records.owner(f"Fleet {n}") for n in range(2)]
        coaches = [records.coach(office, holders[n % 2]) for n in range(self.WRITERS)]
        roofs = [records.roof(office, coach) for coach in coaches]
        managers = [records.client_of(records.manager_of(held)) for held in holders]
        clients = [*managers, records.client_of(office)]
        done = threading.Event()

        def write(number: int) -> None:
            try:
                for _ in range(self.ROUNDS):
                    until_let_in(lambda: records.film(roofs[number], office))
            finally:
                connection.close()

        def poll(client) -> list[dict]:
            read, after, last = [], 0, False
            try:
                while True:
                    last = done.is_set()
                    response = client.get(f"{EVENTS}?after={after}&page_size=7")
                    if response.status_code == 503:
                        continue
                    page = response.json()
                    read += page["results"]
                    after = page["after"]
                    if last and not page["results"]:
                        return read
            finally:
                connection.close()

        with ThreadPoolExecutor(len(clients)) as pollers:
            reads = [pollers.submit(poll, client) for client in clients]
            with ThreadPoolExecutor(self.TOGETHER) as writers:
                list(writers.map(write, range(self.WRITERS)))
            done.set()
            seen = [read.result(timeout=120) for read in reads]

        for read in seen:
            assert [e["position"] for e in read] == list(range(1, len(read) + 1))
        readings = [[e for e in read if e["kind"] == "READINGS"] for read in seen]
        each = self.WRITERS * self.ROUNDS
        assert [len(read) for read in readings] == [each // 2, each // 2, each]
        # Of one roof they come in the order of its ledger.
        for roof in roofs:
            seqs = [e["entry_seq"] for e in readings[2] if e["roof"] == str(roof.uuid)]
            assert seqs == sorted(set(seqs))
        for number, held in enumerate(holders):
            assert EventStream.objects.get(pk=held.pk).position == len(seen[number])
