"""Each constraint of the notices' rows accepts the good and refuses the bad."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, models, transaction

from jobs.models import Message, MessageState, Notice, StoppedAddress, Wish
from tests import builders
from tests.builders import NOON

pytestmark = pytest.mark.django_db

ATTEMPTED = {"attempted_at": NOON, "attempts": 1}
SENT = {**ATTEMPTED, "state": MessageState.SENT, "sent_at": NOON}
AGREED = {
    "text_number": "+15550100199",
    "text_consent_at": NOON,
    "text_consent_how": "on a form",
}
# Which constraint, of which table, takes and refuses which fields.
CASES = [
    ("message_state_known", Message, {}, {"state": "LOST"}),
    ("message_channel_known", Message, {"channel": "TEXT"}, {"channel": "DOVE"}),
    ("message_language_known", Message, {"language": "es"}, {"language": "xx"}),
    ("message_sent_has_its_time", Message, SENT, {**SENT, "sent_at": None}),
    (
        "message_attempt_has_its_time",
        Message,
        {**ATTEMPTED, "state": "UNCERTAIN"},
        {"state": "UNCERTAIN"},
    ),
    (
        "message_handed_over_in_an_attempt",
        Message,
        {**ATTEMPTED, "handed_at": NOON},
        {**ATTEMPTED, "handed_at": NOON - timedelta(seconds=1)},
    ),
    ("notice_step_known", Notice, {}, {"step": "SOME_DAY"}),
    (
        "notice_claim_with_its_news",
        Notice,
        {"step": "ENDED"},
        {"step": "ENDED", "news": "DECIDE"},
    ),
    ("wish_language_known", Wish, {"language": "es"}, {"language": "xx"}),
    ("wish_consent_with_number_and_how", Wish, AGREED, {"text_number": "+1555"}),
    ("stopped_address_given", StoppedAddress, {}, {"address": ""}),
    ("stopped_address_cause_known", StoppedAddress, {}, {"cause": "WHIM"}),
]


def make(table: type[models.Model], **over) -> models.Model:
    roof = builders.make_roof()
    owner = roof.coach.holder
    if table is Message:
        fields = {"owner": owner, "roof": roof, "send_at": NOON, "created_at": NOON}
    elif table is Notice:
        message = make(Message)
        fields = {
            "owner": owner,
            "roof": roof,
            "step": "BEFORE_30",
            "about_on": date(2027, 5, 5),
            "message": message,
            "noted_at": NOON,
        }
    elif table is Wish:
        fields = {"owner": owner}
    else:
        fields = {"address": "o@x.example", "cause": "BOUNCED", "stopped_at": NOON}
    return table._default_manager.create(**{**fields, **over})


@pytest.mark.parametrize(("name", "table", "takes", "refuses"), CASES)
def test_it_takes_one_row_and_refuses_another(name, table, takes, refuses):
    assert make(table, **takes).pk

    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        make(table, **refuses)


def test_a_step_is_noted_once_per_roof_date_and_person():
    first = make(Notice)
    same = {"owner": first.owner, "roof": first.roof, "message": first.message}
    assert make(Notice, **same, about_on=date(2028, 5, 5)).pk
    assert make(Notice, **{**same, "owner": builders.make_owner()}).pk

    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        make(Notice, **same)

    words = "notice_once_per_roof_step_date_person"
    assert (words if connection.vendor == "postgresql" else "UNIQUE") in str(
        refused.value
    )


def test_an_address_is_stopped_once_until_it_is_let_go():
    make(StoppedAddress)
    with pytest.raises(IntegrityError), transaction.atomic():
        make(StoppedAddress)
    StoppedAddress.objects.update(released_at=NOON)

    assert make(StoppedAddress).pk


def test_every_constraint_has_a_case():
    tested = {case[0] for case in CASES} | {
        "notice_once_per_roof_step_date_person",
        "stopped_address_once",
    }

    declared = {
        constraint.name
        for table in apps.get_app_config("jobs").get_models()
        if table._meta.model_name not in {"run", "runnerbeat"}
        for constraint in table._meta.constraints
        if constraint.name.split("_")[0] in {"message", "notice", "wish", "stopped"}
    }
    assert declared == tested
