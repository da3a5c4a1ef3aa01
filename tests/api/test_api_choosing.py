"""Chosen members, records read with others, and addresses that will go."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.http import HttpResponse

from fleet.api.coaches import CoachViewSet
from fleet.api.deprecation import Deprecation, announce
from tests.api import records
from tests.api.test_api_problems import problem_of

JSON = "application/json"


class TestFields:
    def test_a_list_tells_only_what_was_asked_for(self, world):
        page = world.office.get("/api/v1/coaches?fields=unit_no,uuid").json()

        assert page["results"] == [
            {"unit_no": world.coach.unit_no, "uuid": str(world.coach.uuid)}
        ]

    def test_so_does_a_record_and_its_tag_is_of_these_bytes(self, world):
        address = f"/api/v1/coaches/{world.coach.uuid}"
        whole, part = (
            world.office.get(address),
            world.office.get(f"{address}?fields=vin"),
        )

        assert part.json() == {"vin": world.coach.vin}
        assert part.headers["ETag"] != whole.headers["ETag"]
        tag = {"If-None-Match": part.headers["ETag"]}
        assert world.office.get(f"{address}?fields=vin", headers=tag).status_code == 304

    def test_facts_are_told_in_part_too(self, world):
        address = f"/api/v1/installations?roof={world.roof.uuid}&fields=uuid,system"
        [listed] = world.manager.get(address).json()["results"]
        one = f"/api/v1/installations/{listed['uuid']}?fields=uuid,system"

        assert set(listed) == {"uuid", "system"}
        assert world.manager.get(one).json() == listed

    def test_the_pages_keep_the_choice(self, world):
        records.coach(world.office_user)
        first = world.office.get("/api/v1/coaches?fields=uuid&page_size=1").json()

        assert set(world.office.get(first["next"]).json()["results"][0]) == {"uuid"}

    @pytest.mark.parametrize("word", ["holder_name", "", "uuid,"])
    def test_an_unknown_member_is_refused(self, world, word):
        refused = world.office.get(f"/api/v1/coaches?fields={word}")

        body = problem_of(refused, 400, "invalid-parameter")
        assert body["errors"][0]["parameter"] == "fields"

    def test_what_has_no_members_to_choose_refuses_the_word(self, world):
        problem_of(world.office.get("/api/v1/me?fields=uuid"), 400, "unknown-parameter")


class TestExpand:
    def test_records_come_with_their_own(self, world, django_assert_num_queries):
        [roof] = world.office.get("/api/v1/roofs?expand=coach,system").json()["results"]

        coach = world.office.get(f"/api/v1/coaches/{world.coach.uuid}").json()
        assert roof["expanded"]["coach"] == coach
        assert roof["expanded"]["system"]["code"] == "HARDTOP-2"

    def test_more_rows_ask_no_more_queries(self, world, django_assert_num_queries):
        address = "/api/v1/roofs?expand=coach,system"
        world.office.get(address)
        with django_assert_num_queries(7) as few:
            world.office.get(address)
        for _ in range(3):
            records.roof(world.office_user, records.coach(world.office_user))
        with django_assert_num_queries(len(few)):
            world.office.get(address)

    def test_what_is_another_s_by_now_is_null(self, world):
        loss = {
            "roof": str(world.roof.uuid),
            "noticed_on": "2025-03-01",
            "reported_on": "2025-03-02",
            "description": "drip",
        }
        world.manager.post("/api/v1/claims", loss, content_type=JSON)
        buyer = records.owner_of(world.stranger.get("/api/v1/me").json()["owner"])
        records.sell(world.coach, buyer, world.office_user)

        [claim] = world.manager.get("/api/v1/claims?expand=roof").json()["results"]

        assert claim["expanded"] == {"roof": None}

    @pytest.mark.parametrize("word", ["holder", "coach.holder", "claims", ""])
    def test_what_is_not_on_the_list_is_refused(self, world, word):
        refused = world.office.get(f"/api/v1/roofs?expand={word}")

        problem_of(refused, 400, "invalid-parameter")

    def test_with_fields_it_is_told_beside_them(self, world):
        [roof] = world.office.get("/api/v1/roofs?fields=uuid&expand=coach").json()[
            "results"
        ]

        assert set(roof) == {"uuid", "expanded"}


class TestDeprecation:
    """RFC 9745, section 2.1 (a structured date), and RFC 8594, section 3."""

    TOLD = Deprecation(
        # The examples of the two documents: 2023-06-30 23:59:59, 2018-12-31 23:59:59.
        since=datetime(2023, 6, 30, 23, 59, 59, tzinfo=UTC),
        sunset=datetime(2018, 12, 31, 23, 59, 59, tzinfo=UTC),
        successor="/api/v2/coaches",
    )

    def test_the_headers_are_those_of_the_examples(self):
        response = HttpResponse()

        announce(response, self.TOLD)

        assert response.headers["Deprecation"] == "@1688169599"
        assert response.headers["Sunset"] == "Mon, 31 Dec 2018 23:59:59 GMT"
        assert response.headers["Link"] == '</api/v2/coaches>; rel="successor-version"'

    def test_a_marked_action_says_so_beside_its_pages(self, world, monkeypatch):
        monkeypatch.setattr(CoachViewSet, "deprecations", {"list": self.TOLD})
        records.coach(world.office_user)

        listed = world.office.get("/api/v1/coaches?page_size=1")
        one = world.office.get(f"/api/v1/coaches/{world.coach.uuid}")

        assert listed.headers["Deprecation"] == "@1688169599"
        assert 'rel="next"' in listed.headers["Link"]
        assert 'rel="successor-version"' in listed.headers["Link"]
        assert "Deprecation" not in one.headers
