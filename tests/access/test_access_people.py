"""Invitations, closed accounts, sessions, and the log of the door."""

from __future__ import annotations

import re

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.actions.access_log import note_access
from fleet.actions.api_keys import make_key
from fleet.actions.errors import InvalidValue
from fleet.actions.invitations import (
    InvitationOver,
    InvitationSettled,
    accept,
    close_user,
    invitation_of,
    invite,
    withdraw,
)
from fleet.errors import NotAllowed
from fleet.models import AccessEvent, AccessKind, Invitation, Role, Session, User
from tests.access.conftest import PASSWORD, client_of

pytestmark = pytest.mark.django_db
HERE = "192.0.2.10"
JSON = "application/json"


def invited(door, clock, **over) -> tuple[Invitation, str]:
    fields = {
        "name": "Wren Alder",
        "email": "wren@harrow-lake.example",
        "role": Role.FLEET_MANAGER,
        "owner": door.fleet,
        "by": door.office,
        "now": clock.now,
    }
    return invite(**{**fields, **over})


def taken(word: str, clock, **over) -> User:
    fields = {"username": "wren", "password": "two cranes at dusk", "address": HERE}
    return accept(word=word, now=clock.now, **{**fields, **over})


class TestInvitation:
    def test_the_invited_person_chooses_name_and_password(self, door, clock):
        _, word = invited(door, clock)

        user = taken(word, clock)

        assert user.check_password("two cranes at dusk")
        assert (user.role, user.owner, str(user)) == (
            Role.FLEET_MANAGER,
            door.fleet,
            "Wren Alder",
        )

    def test_the_link_works_once(self, door, clock):
        _, word = invited(door, clock)
        taken(word, clock)

        with pytest.raises(InvitationOver):
            taken(word, clock, username="wren2")

    def test_for_a_week(self, door, clock):
        _, word = invited(door, clock)
        clock.pass_by(days=7)

        with pytest.raises(InvitationOver):
            taken(word, clock)

    def test_not_when_it_was_forged(self, door, clock):
        made, word = invited(door, clock)
        for forged in (str(made.uuid), word[:-1] + ("a" if word[-1] != "a" else "b")):
            with pytest.raises(InvitationOver):
                invitation_of(word=forged, now=clock.now)

    def test_not_after_it_was_taken_back(self, door, clock):
        made, word = invited(door, clock)
        withdraw(invitation=made, by=door.office, now=clock.now)

        with pytest.raises(InvitationOver):
            taken(word, clock)
        with pytest.raises(InvitationSettled):
            withdraw(invitation=made, by=door.office, now=clock.now)

    def test_not_when_who_invited_works_here_no_more(self, door, clock):
        _, word = invited(door, clock, by=door.manager)
        close_user(user=door.manager, by=door.office, now=clock.now)

        with pytest.raises(InvitationOver):
            taken(word, clock)

    @pytest.mark.parametrize(
        ("over", "field"),
        [
            ({"username": "yarrow"}, "username"),
            ({"username": "two words"}, "username"),
            ({"password": "short"}, "password"),
            ({"password": "password123"}, "password"),
        ],
    )
    def test_a_taken_name_or_a_weak_password_is_named(self, door, clock, over, field):
        _, word = invited(door, clock)

        with pytest.raises(InvalidValue) as refused:
            taken(word, clock, **over)

        assert refused.value.detail["field"] == field
        assert taken(word, clock).username == "wren"

    def test_a_manager_invites_into_the_own_fleet_alone(self, door, clock):
        made, _ = invited(door, clock, by=door.manager, owner=door.other)
        assert made.owner == door.fleet

        with pytest.raises(NotAllowed):
            invited(door, clock, by=door.manager, role=Role.OFFICE, owner=None)
        with pytest.raises(NotAllowed):
            invited(door, clock, by=door.technician)

    @pytest.mark.parametrize("role", [Role.OFFICE, Role.FLEET_MANAGER])
    def test_a_fleet_goes_with_a_manager_and_nobody_else(self, door, clock, role):
        owner = door.fleet if role == Role.OFFICE else None

        with pytest.raises(InvalidValue):
            invited(door, clock, role=role, owner=owner)

    def test_from_page_to_page(self, door):
        fields = {"name": "Wren Alder", "email": "wren@harrow-lake.example"}
        shown = client_of(door.manager).post(reverse("people"), fields)
        link = re.search(r"http://[^<]+/(invitation/[^<]+)<", shown.text)[1]
        guest = Client()
        assert "Wren Alder, you are invited" in guest.get(f"/{link}").text

        chosen = {"username": "wren", "password": PASSWORD, "again": PASSWORD}
        guest.post(f"/{link}", chosen)

        guest.post(reverse("sign-in"), {"username": "wren", "password": PASSWORD})
        assert guest.get(reverse("roof-list")).status_code == 200
        assert guest.get(f"/{link}").status_code == 404

    def test_over_the_api(self, door, clock):
        manager = client_of(door.manager)
        body = {"name": "Wren Alder", "email": "wren@harrow-lake.example"}

        made = manager.post("/api/v1/invitations", body, content_type=JSON)

        assert made.status_code == 201
        word = made.json()["link"].rsplit("/", 1)[1]
        assert taken(word, clock).owner == door.fleet
        other = client_of(door.stranger).get(made.headers["Location"])
        assert other.status_code == 404


class TestClosedAccounts:
    def test_sessions_end_and_no_password_opens(self, door):
        session = client_of(door.manager)

        client_of(door.colleague).post(
            reverse("person-close", args=[door.manager.uuid])
        )

        assert session.get(reverse("roof-list")).status_code == 302
        answer = Client().post(
            reverse("sign-in"), {"username": "alder", "password": PASSWORD}
        )
        assert "is not right" in answer.text

    def test_it_can_be_opened_again(self, door):
        client = client_of(door.office)
        client.post(f"/api/v1/users/{door.manager.uuid}/close")

        told = client.post(f"/api/v1/users/{door.manager.uuid}/open").json()

        assert told["is_active"] is True

    def test_nobody_closes_their_own(self, door, clock):
        with pytest.raises(NotAllowed):
            close_user(user=door.office, by=door.office, now=clock.now)

    def test_managers_reach_nobody_else(self, door):
        client = client_of(door.stranger)

        for user in (door.manager, door.office, door.technician):
            closed = client.post(f"/api/v1/users/{user.uuid}/close")
            assert closed.status_code == 404

    def test_everybody_sees_whom_they_look_after(self, door):
        def names(user) -> set[str]:
            told = client_of(user).get("/api/v1/users").json()
            return {each["username"] for each in told["results"]}

        assert names(door.manager) == {"alder", "birch"}
        assert names(door.technician) == {"tern"}
        assert names(door.office) == {
            "yarrow",
            "tern",
            "alder",
            "birch",
            "cedar",
        }


class TestSessions:
    def test_one_is_listed_with_where_it_began(self, door, clock):
        client = Client(headers={"User-Agent": "Browser of the yard"})
        client.post(reverse("sign-in"), {"username": "alder", "password": PASSWORD})

        told = client.get("/api/v1/sessions").json()["results"]

        assert len(told) == 1
        assert told[0]["program"] == "Browser of the yard"
        assert told[0]["address"] == "127.0.0.1"
        assert told[0]["began_at"].startswith("2026-06-01T16:00")

    def test_an_ended_one_opens_nothing(self, door):
        own, lost = client_of(door.manager), client_of(door.manager)
        key = lost.session.session_key
        uuid = Session.objects.get(session_key=key).uuid

        own.post(reverse("session-end", args=[uuid]))

        assert lost.get(reverse("roof-list")).status_code == 302
        assert own.get(reverse("roof-list")).status_code == 200
        event = AccessEvent.objects.get(kind=AccessKind.SESSION_ENDED)
        assert event.about_uuid == uuid

    def test_the_office_ends_anybodys_and_others_only_their_own(self, door):
        manager = client_of(door.manager)
        uuid = Session.objects.get(user=door.manager).uuid

        for stranger in (door.colleague, door.technician):
            address = f"/api/v1/sessions/{uuid}/end"
            assert client_of(stranger).post(address).status_code == 404
        assert client_of(door.office).post(address).status_code == 200

        assert manager.get(reverse("roof-list")).status_code == 302

    def test_its_id_does_not_tell_its_key(self, door):
        client_of(door.manager)
        row = Session.objects.get()

        assert row.uuid.hex not in row.session_key
        assert row.session_key not in row.uuid.hex

    def test_last_use_is_written_every_ten_minutes(self, door, clock):
        client = client_of(door.manager)
        began = clock.now
        clock.pass_by(minutes=9)
        client.get(reverse("account"))
        assert Session.objects.get().seen_at == began

        clock.pass_by(minutes=1)
        client.get(reverse("account"))

        row = Session.objects.get()
        assert (row.seen_at, row.began_at) == (clock.now, began)

    def test_those_that_ran_out_are_removed(self, door, clock):
        client_of(door.manager)
        clock.pass_by(days=15)

        Client().post(reverse("sign-in"), {"username": "alder", "password": PASSWORD})

        assert Session.objects.count() == 1


class TestLog:
    def test_the_database_refuses_to_change_it(self, door, clock):
        note_access(AccessKind.SIGNED_IN, now=clock.now, by=door.office)

        for change in (
            lambda rows: rows.update(detail="another"),
            lambda rows: rows.delete(),
        ):
            with (
                pytest.raises(DatabaseError, match="never updated or deleted"),
                transaction.atomic(),
            ):
                change(AccessEvent.objects.all())

    def test_it_names_no_other_row(self):
        related = [each for each in AccessEvent._meta.get_fields() if each.is_relation]

        assert related == []

    def test_everybody_sees_what_concerns_them(self, door, clock):
        for user in (door.office, door.technician, door.manager, door.stranger):
            note_access(AccessKind.SIGNED_IN, now=clock.now, by=user)

        def seen(user) -> int:
            return len(client_of(user).get("/api/v1/access-events").json()["results"])

        assert [seen(u) for u in (door.office, door.technician)] == [4, 1]
        assert [seen(u) for u in (door.manager, door.colleague)] == [1, 1]

    def test_it_is_paged_and_the_newest_come_first(self, door, clock):
        for number in range(60):
            note_access(
                AccessKind.SIGNED_IN,
                now=clock.now,
                by=door.office,
                detail=f"no. {number}",
            )
        client = client_of(door.office)

        first = client.get(reverse("access-log")).text
        older = re.search(r"\?before=\d+", first)[0]
        second = client.get(reverse("access-log") + older).text

        assert first.index("no. 59") < first.index("no. 10")
        assert "no. 9<" in second
        assert "no. 10<" not in second
        assert "?before" not in second


@pytest.mark.parametrize("name", ["people", "keys", "sessions", "access-log"])
def test_a_page_asks_as_much_for_many_as_for_few(door, clock, name):
    client = client_of(door.office)

    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse(name)).status_code == 200
        return len(queries)

    def more(count: int) -> None:
        for number in range(count):
            stamp = f"{User.objects.count()}-{number}"
            user = User.objects.create(
                username=f"guest-{stamp}", role="FLEET_MANAGER", owner=door.fleet
            )
            client_of(user)
            invited(door, clock, by=user)
            make_key(
                owner=door.fleet,
                name="k",
                rights=["read"],
                days=1,
                by=user,
                now=clock.now,
            )

    more(2)
    few = cost()
    more(12)

    assert cost() == few
    assert few < 12
