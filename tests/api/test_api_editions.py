"""Editions: drafted and published by the office, read by everybody once published."""

from __future__ import annotations

import pytest

from tests.builders import LAWFUL_TEXT

JSON = "application/json"
EDITION = {
    "code": "RENT-2030",
    "title": "Limited rental warranty",
    "owner_kind": "rental_fleet",
    "anchor": "anniversary",
    "interval_months": 12,
    "window_days": 60,
    "grace_days": 30,
    "reinstatement_days": 90,
    "registration_days": 30,
    "serious_cure_days": 30,
}


def send(client, address: str, tag: str = "", **body: object):
    headers = {"If-Match": tag} if tag else {}
    return client.post(f"/api/v1/{address}", body, content_type=JSON, headers=headers)


def drafted(world, **over: object):
    return send(world.office, "editions", **{**EDITION, **LAWFUL_TEXT, **over})


def published(world, response, tag: str | None = None):
    tag = response.headers["ETag"] if tag is None else tag
    return send(world.office, f"editions/{response.json()['uuid']}/publish", tag)


class TestDrafts:
    def test_a_draft_is_the_offices_own(self, world):
        where = drafted(world).headers["Location"]

        assert world.office.get(where).json()["published_at"] is None
        for other in (world.technician, world.manager, world.stranger):
            assert other.get(where).status_code == 404

    @pytest.mark.parametrize("who", ["technician", "manager", "stranger"])
    def test_nobody_else_drafts(self, world, who):
        assert send(world.who(who), "editions", **EDITION).status_code == 403

    def test_windows_that_meet_are_refused_by_name(self, world):
        response = drafted(world, window_days=340, grace_days=60)

        assert response.status_code == 400
        assert response.json()["errors"][0]["pointer"] == "#/window_days"

    def test_a_code_that_is_taken_is_refused(self, world):
        drafted(world)

        assert drafted(world).json()["code"] == "edition-known"

    def test_a_change_starts_from_the_version_that_was_read(self, world):
        draft = drafted(world)
        address = f"editions/{draft.json()['uuid']}/revise"

        first = send(world.office, address, draft.headers["ETag"], grace_days=45)
        second = send(world.office, address, draft.headers["ETag"], grace_days=50)
        unread = send(world.office, address, grace_days=50)

        assert (first.status_code, first.json()["grace_days"]) == (200, 45)
        assert (second.status_code, unread.status_code) == (412, 428)

    def test_what_is_left_out_of_a_change_stays(self, world):
        draft = drafted(world)
        address = f"editions/{draft.json()['uuid']}/revise"

        changed = send(world.office, address, draft.headers["ETag"], remedy="We pay.")

        assert changed.json() == {**draft.json(), "remedy": "We pay.", "version": 2}

    def test_no_roof_is_promised_under_a_draft(self, world):
        drafted(world)
        body = {"roof": str(world.roof.uuid), "edition": "RENT-2030"}

        response = send(world.office, "coverages", happened_on="2025-01-01", **body)

        assert response.json()["errors"][0]["pointer"] == "#/edition"


class TestChecks:
    def test_each_rule_answers_with_its_citation(self, world):
        where = drafted(world, remedy="").headers["Location"]

        answer = world.office.get(f"{where}/checks").json()

        remedy = next(c for c in answer["checks"] if c["code"] == "remedy")
        assert answer["may_be_published"] is False
        assert remedy["citation"] == "16 CFR 701.3(a)(3)"
        assert (remedy["passed"], remedy["severity"]) == (False, "error")
        assert all(c["citation"] for c in answer["checks"])

    def test_they_are_the_offices_own(self, world):
        where = drafted(world).headers["Location"]

        assert world.manager.get(f"{where}/checks").status_code == 403
        assert world.technician.get(f"{where}/checks").status_code == 403


class TestPublishing:
    def test_published_it_is_everybodys(self, world):
        draft = drafted(world)

        assert published(world, draft).json()["published_at"]
        assert world.manager.get(draft.headers["Location"]).status_code == 200

    def test_all_errors_are_listed_with_the_field_they_are_about(self, world):
        draft = drafted(world, remedy="", exclusions="", title="Rental promise")

        refused = published(world, draft)

        pointers = {error["pointer"] for error in refused.json()["errors"]}
        assert (refused.status_code, refused.json()["code"]) == (400, "law-not-met")
        assert pointers == {"#/remedy", "#/exclusions", "#/title"}

    def test_questions_do_not_stand_in_the_way(self, world):
        draft = drafted(world, dispute_mechanism="")

        assert published(world, draft).status_code == 200

    def test_it_never_changes_again(self, world):
        edition = published(world, drafted(world))
        address = f"editions/{edition.json()['uuid']}"

        changed = send(world.office, f"{address}/revise", edition.headers["ETag"])
        again = published(world, edition)

        assert changed.json()["code"] == "edition-published"
        assert again.json()["code"] == "edition-published"

    def test_a_version_that_was_not_read_is_not_published(self, world):
        draft = drafted(world)
        address = f"editions/{draft.json()['uuid']}/revise"
        send(world.office, address, draft.headers["ETag"], grace_days=45)

        assert published(world, draft).status_code == 412
        assert published(world, draft, tag="").status_code == 428

    @pytest.mark.parametrize("who", ["technician", "manager", "stranger"])
    def test_nobody_else_publishes(self, world, who):
        draft = drafted(world)
        address = f"editions/{draft.json()['uuid']}/publish"

        assert send(world.who(who), address, "x").status_code == 403
