"""How often one may ask: told in every answer, refused beyond, exact for all processes.

Headers after the IETF draft "RateLimit header fields for HTTP"; 429 and Retry-After
after RFC 6585, section 4.
"""

from __future__ import annotations

import re
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from fleet import rates
from fleet.models import Role
from tests import services
from tests.api import records
from tests.api.test_api_problems import problem_of

ME = "/api/v1/me"


@pytest.fixture
def three_a_minute(settings, monkeypatch):
    settings.API_REQUESTS_PER_MINUTE = 3
    # All requests of a test fall into one window, whenever it is run.
    monkeypatch.setattr("fleet.api.rates.WINDOW_S", 10**11)
    return settings


def left(response) -> int:
    return int(
        re.fullmatch(r'"minute";r=(\d+);t=\d+', response.headers["RateLimit"])[1]
    )


class TestTheLimit:
    def test_is_told_and_counts_down(self, world, three_a_minute):
        told = [world.office.get(ME) for _ in range(3)]

        assert [left(response) for response in told] == [2, 1, 0]
        assert told[0].headers["RateLimit-Policy"].startswith('"minute";q=3;w=')

    def test_beyond_it_is_429_with_the_seconds_to_wait(self, world, three_a_minute):
        for _ in range(3):
            world.office.get(ME)

        refused = world.office.get(ME)

        problem_of(refused, 429, "too-many-requests")
        assert int(refused.headers["Retry-After"]) >= 1
        assert left(refused) == 0

    def test_others_have_their_own(self, world, three_a_minute):
        for _ in range(4):
            world.office.get(ME)

        assert world.technician.get(ME).status_code == 200

    def test_a_refused_request_counts_too(self, world, three_a_minute):
        world.office.get("/api/v1/coaches?x=1")

        assert left(world.office.get(ME)) == 1

    def test_nought_is_no_limit(self, world):
        assert "RateLimit" not in world.office.get(ME).headers


def test_a_new_window_starts_anew(db):
    counts = [
        rates.count_request(principal="user:w", window=window)
        for window in (1, 1, 2, 2)
    ]

    assert counts == [1, 2, 1, 2]


def count_at_once() -> list[int]:
    callers, each = 8, 25
    gate = threading.Barrier(callers)

    def count(_: int) -> list[int]:
        gate.wait(timeout=30)
        try:
            return [
                rates.count_request(principal="user:busy", window=7)
                for _ in range(each)
            ]
        finally:
            connection.close()

    with ThreadPoolExecutor(callers) as pool:
        return sorted(n for told in pool.map(count, range(callers)) for n in told)


@pytest.mark.slow
def test_no_count_is_lost_or_given_twice(shared_database):
    """Each thread has connections of its own, as each process has."""
    assert count_at_once() == list(range(1, 201))


@pytest.mark.slow
@pytest.mark.redis
def test_nor_with_redis(shared_database, settings, tmp_path):
    with services.redis_server(tmp_path) as url:
        settings.BROKER_URL = url
        assert count_at_once() == list(range(1, 201))


@pytest.mark.slow
def test_without_its_redis_the_database_counts(world, settings, three_a_minute):
    settings.BROKER_URL = f"redis://127.0.0.1:{services.free_port()}/0"
    other = records.client_of(records.person(Role.OFFICE))

    assert [left(other.get(ME)) for _ in range(2)] == [2, 1]
