"""The pages about notices: the list, one message, previews, wishes, and the links
that a message carries."""

from __future__ import annotations

from datetime import date, timedelta
from urllib.parse import urlsplit

import pytest
from django.test import Client

from jobs.models import Message, MessageState, Notice, Run, StoppedAddress, Wish
from jobs.notices import links
from tests import builders
from tests.builders import NOON

LIST = "/notices/"


def make_message(roof, **over) -> Message:
    fields = {
        "owner": roof.coach.holder,
        "roof": roof,
        "state": MessageState.SENT,
        "send_at": NOON,
        "created_at": NOON,
        "attempted_at": NOON,
        "handed_at": NOON,
        "sent_at": NOON,
        "attempts": 1,
        "address": "o@harrow-lake.example",
        "subject": "Roof inspection due",
        "text": "Dear owner,\n\nIt is due.\n\nSee this notice: https://x.example/n\n",
    }
    message = Message.objects.create(**{**fields, **over})
    Notice.objects.create(
        owner=message.owner,
        roof=roof,
        step="BEFORE_30",
        about_on=date(2027, 5, 5) + timedelta(days=message.pk),
        by_on=date(2027, 5, 5),
        message=message,
        noted_at=NOON,
    )
    return message


class TestTheList:
    def test_the_office_sees_every_message_a_fleet_its_own(self, world):
        mine = make_message(world.fleet_roof)
        other = make_message(world.private_roof)

        def seen(client) -> set[int]:
            return {row.pk for row in client.get(LIST).context["found"].rows}

        assert seen(world.office) == {mine.pk, other.pk}
        assert seen(world.manager) == {mine.pk}
        assert seen(world.stranger) == set()
        assert world.nobody.get(LIST).status_code == 302

    def test_a_message_is_as_missing_for_a_stranger_as_one_that_is_not_there(
        self, world
    ):
        message = make_message(world.private_roof)
        address = f"{LIST}{message.uuid}/"

        assert world.office.get(address).status_code == 200
        assert world.manager.get(address).status_code == 404

    def test_it_finds_and_filters_and_sorts(self, world):
        first = make_message(world.private_roof, state=MessageState.BOUNCED)
        second = make_message(
            world.fleet_roof, send_at=NOON - timedelta(days=1), address="x@y.example"
        )

        def seen(**asked) -> list[int]:
            found = world.office.get(LIST, asked).context["found"]
            return [row.pk for row in found.rows]

        assert seen() == [second.pk, first.pk]
        assert seen(sort="next") == [second.pk, first.pk]
        assert seen(state="look") == [first.pk]
        assert seen(state="SENT") == [second.pk]
        assert seen(q="hl-7001") == [second.pk]
        assert seen(q="X@y.example") == [second.pk]
        assert seen(step="ENDED") == []

    def test_its_queries_do_not_grow_with_the_list(
        self, world, django_assert_num_queries
    ):
        make_message(world.fleet_roof)
        world.office.get(LIST)
        with django_assert_num_queries(8):
            world.office.get(LIST)
        for _ in range(60):
            make_message(world.fleet_roof)

        with django_assert_num_queries(8):
            assert world.office.get(LIST).context["found"].pages == 2


class TestOneMessage:
    def test_what_nobody_knows_is_sent_again_or_noted_as_arrived(self, world):
        message = make_message(world.private_roof, state=MessageState.UNCERTAIN)
        page = world.office.get(f"{LIST}{message.uuid}/")
        assert "Send again" in page.text
        assert "It has arrived" in page.text

        world.office.post(f"{LIST}{message.uuid}/again")

        message.refresh_from_db()
        assert message.state == MessageState.WAITING
        assert Run.objects.get(kind="send_message").payload == {"message": message.pk}

    def test_it_has_arrived(self, world):
        message = make_message(world.private_roof, state=MessageState.UNCERTAIN)

        world.office.post(f"{LIST}{message.uuid}/arrived")

        message.refresh_from_db()
        assert message.state == MessageState.SENT

    def test_what_was_sent_is_not_sent_again(self, world):
        message = make_message(world.private_roof)

        assert world.office.post(f"{LIST}{message.uuid}/again").status_code == 409

    @pytest.mark.parametrize("what", ["again", "arrived", "release"])
    def test_a_fleet_does_none_of_it(self, world, what):
        message = make_message(world.fleet_roof, state=MessageState.UNCERTAIN)

        assert world.manager.post(f"{LIST}{message.uuid}/{what}").status_code == 403

    def test_a_stopped_address_is_let_go(self, world):
        message = make_message(world.private_roof, state=MessageState.BOUNCED)
        StoppedAddress.objects.create(
            address="o@harrow-lake.example",
            cause="BOUNCED",
            detail="gone",
            message=message,
            stopped_at=NOON,
        )
        assert "gone" in world.office.get(f"{LIST}{message.uuid}/").text

        world.office.post(f"{LIST}{message.uuid}/release")

        assert StoppedAddress.objects.get().released_at == NOON


class TestPreview:
    ADDRESS = f"{LIST}preview"

    @pytest.mark.parametrize("language", ["en", "es"])
    @pytest.mark.parametrize(
        "step",
        [
            *("BEFORE_60", "ON_THE_DAY", "LAST_GRACE_WEEK", "SUSPENDED", "ENDED"),
            *("REINSTATED", "REGISTRATION", "CURE", "CLAIM"),
        ],
    )
    def test_every_step_is_shown_with_real_names_and_dates(self, world, step, language):
        builders.make_claim(world.fleet_roof, ref="C-5")
        asked = {"coach": "hl-7001", "step": step, "language": language}

        shown = world.office.get(self.ADDRESS, asked)

        assert "Sandbar Coach Hire" in shown.context["draft"].text
        assert "HL-7001" in shown.context["draft"].subject
        assert not Message.objects.exists()

    def test_the_html_is_shown_under_the_same_strict_policy(self, world):
        asked = {"coach": "HL-7001", "step": "BEFORE_30", "language": "en"}

        shown = world.office.get(f"{self.ADDRESS}.html", asked)

        assert "style=" not in shown.text
        assert "<script" not in shown.text
        assert "'none'" in shown.headers["Content-Security-Policy"]

    def test_an_unknown_coach_is_told_at_its_field(self, world):
        asked = {"coach": "nobody", "step": "ENDED", "language": "en"}

        shown = world.office.get(self.ADDRESS, asked)

        assert 'id="id_coach_error"' in shown.text

    def test_only_the_office_looks(self, world):
        assert world.manager.get(self.ADDRESS).status_code == 403


class TestWishes:
    def test_consent_to_texts_is_recorded_with_how_and_when(self, world):
        address = f"{LIST}to/{world.fleet.uuid}/"
        given = {
            "language": "es",
            "text_number": "+1 555 010 0199",
            "text_consent_how": "said so on the phone",
        }

        world.office.post(f"{address}set", given)

        wish = Wish.objects.get(owner=world.fleet)
        assert (wish.language, wish.text_consent_at) == ("es", NOON)
        assert "said so on the phone" in world.office.get(address).text

    @pytest.mark.parametrize(
        "given",
        [
            {"language": "en", "text_number": "+1 555 010 0199"},
            {"language": "en", "text_consent_how": "on a form"},
            {"language": "xx"},
            {"language": "en", "text_number": "call me", "text_consent_how": "so"},
        ],
    )
    def test_half_a_consent_is_refused(self, world, given):
        answer = world.office.post(f"{LIST}to/{world.fleet.uuid}/set", given)

        assert answer.status_code == 400
        assert not Wish.objects.exists()

    def test_consent_is_taken_back(self, world):
        address = f"{LIST}to/{world.fleet.uuid}/set"
        yes = {"language": "en", "text_number": "+15550100199", "text_consent_how": "x"}
        world.office.post(address, yes)

        world.office.post(address, {"language": "en"})

        assert Wish.objects.get().text_consent_at is None

    def test_the_office_switches_reminders(self, world):
        address = f"{LIST}to/{world.fleet.uuid}/reminders/"
        world.office.post(f"{address}off")
        assert Wish.objects.get().reminders_off_at == NOON

        world.office.post(f"{address}on")

        assert Wish.objects.get().reminders_off_at is None

    def test_a_fleet_does_not_set_them(self, world):
        answer = world.manager.post(f"{LIST}to/{world.fleet.uuid}/set", {})

        assert answer.status_code == 403


class TestTheLinksInAMessage:
    def test_one_click_stops_reminders_without_cookie_or_token(self, world):
        # RFC 8058, section 3.2: POST with this body, and no context of a sign-in.
        address = urlsplit(links.stop_url(world.fleet.uuid)).path
        mailer = Client(enforce_csrf_checks=True)

        answer = mailer.post(address, {"List-Unsubscribe": "One-Click"})

        assert answer.status_code == 200
        assert Wish.objects.get(owner=world.fleet).reminders_off_at == NOON

    def test_looking_alone_stops_nothing(self, world):
        address = urlsplit(links.stop_url(world.fleet.uuid)).path

        assert "Stop reminders?" in world.nobody.get(address).text
        assert not Wish.objects.exists()

    @pytest.mark.parametrize("what", ["stop/", ""])
    def test_a_link_that_was_changed_does_nothing(self, world, what):
        answer = world.nobody.post(f"/notice/stop/{world.fleet.uuid}")
        assert answer.status_code == 404
        assert world.nobody.get(f"/notice/{what}abc:def:ghi").status_code == 404
        assert not Wish.objects.exists()

    def test_a_link_of_one_kind_does_not_do_the_others(self, world):
        shown = urlsplit(links.show_url(world.fleet.uuid)).path.split("/")[-1]

        assert world.nobody.post(f"/notice/stop/{shown}").status_code == 404

    def test_a_message_is_read_without_a_sign_in_by_its_link_alone(self, world):
        message = make_message(world.private_roof)
        address = urlsplit(links.show_url(message.uuid)).path

        shown = world.nobody.get(address)

        assert "It is due." in shown.text
        assert "x.example/n" not in shown.text
        assert shown.headers["X-Robots-Tag"] == "noindex"


def test_the_api_lists_notices_in_the_callers_scope(world):
    mine = make_message(world.fleet_roof)
    make_message(world.private_roof)

    told = world.manager.get("/api/v1/notices").json()["results"]

    assert [each["uuid"] for each in told] == [str(mine.notices.get().uuid)]
    assert (told[0]["step"], told[0]["message_state"]) == ("BEFORE_30", "SENT")
    assert world.stranger.get("/api/v1/notices").json()["results"] == []
