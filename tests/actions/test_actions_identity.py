"""The same id is the same record; other content under it is refused."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest

from fleet.actions.coaches import hand_over
from fleet.actions.readings import coat_log
from fleet.actions.roofs import record, record_visit, text
from fleet.errors import RecordConflict
from fleet.models import Alteration, CoatLog, Finding, Ownership, Visit
from tests.builders import NOON, TODAY, make_claim, make_owner, make_roof, office
from warranty.actions.claims import claim_report, correct_claim
from warranty.models import ClaimReport

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(hours=1)


@dataclass
class Sender:
    """Somebody who sends coat logs about one roof under one id."""

    roof: Any
    uuid: Any

    def send(self, lot: str = "L-1", **over) -> CoatLog:
        fact = coat_log(coat="base", lot=lot, happened_on=TODAY, uuid=self.uuid)
        told = {"roof": self.roof, "by": office(), "now": NOON, **over}
        [kept] = record(kind="coats", facts=[fact], **told)
        return kept


@pytest.fixture
def sender() -> Sender:
    return Sender(make_roof(), uuid4())


def test_the_same_record_sent_again_is_the_row_that_is_there(sender):
    first = sender.send()

    again = sender.send(now=LATER)

    assert again.pk == first.pk
    assert sender.roof.entries.filter(kind="coats").count() == 1


def test_other_content_under_a_known_id_is_a_conflict(sender):
    sender.send()

    with pytest.raises(RecordConflict):
        sender.send(lot="L-2")

    assert CoatLog.objects.get().lot == "L-1"


def test_the_same_content_about_another_roof_is_a_conflict(sender):
    sender.send()

    with pytest.raises(RecordConflict):
        sender.send(roof=make_roof())


def test_an_id_of_another_scope_is_as_new(sender):
    first = sender.send()

    other = sender.send(lot="L-2", scope="owner:1")

    assert other.pk != first.pk
    assert CoatLog.objects.filter(uuid=sender.uuid).count() == 2


def test_one_id_twice_in_one_message_is_one_row(sender):
    facts = [
        coat_log(coat="base", lot="L", happened_on=TODAY, uuid=sender.uuid)
        for _ in range(2)
    ]

    kept = record(roof=sender.roof, kind="coats", facts=facts, by=office(), now=NOON)

    assert kept[0] is kept[1]
    assert CoatLog.objects.count() == 1


def test_one_id_with_two_contents_in_one_message_is_a_conflict(sender):
    facts = [
        coat_log(coat="base", lot=lot, happened_on=TODAY, uuid=sender.uuid)
        for lot in ("L-1", "L-2")
    ]

    with pytest.raises(RecordConflict):
        record(roof=sender.roof, kind="coats", facts=facts, by=office(), now=NOON)

    assert not CoatLog.objects.exists()


def test_texts_are_compared_as_texts_and_not_by_their_salt():
    roof, uuid = make_roof(), uuid4()
    told = {"roof": roof, "kind": "alteration", "by": office(), "now": NOON}

    def said(words):
        note = text(words)
        return Alteration(uuid=uuid, happened_on=TODAY, note=note)

    [first] = record(facts=[said("a rack")], **told)
    [again] = record(facts=[said("a rack")], **told)

    assert again.pk == first.pk
    with pytest.raises(RecordConflict):
        record(facts=[said("a mast")], **told)


def test_a_visit_sent_again_with_a_finding_more_loses_nothing():
    roof, uuid = make_roof(), uuid4()
    told = {"roof": roof, "ref": "V-1", "kind": "SURVEY", "happened_on": TODAY}

    for count in (1, 2, 2):
        findings = [
            Finding(happened_on=TODAY, severity="MINOR", x_m=Decimal(n), y_m=1)
            for n in range(count)
        ]
        record_visit(uuid=uuid, findings=findings, by=office(), now=NOON, **told)

    assert Visit.objects.count() == 1
    assert Finding.objects.count() == 2


def test_a_hand_over_sent_again_is_the_same():
    roof, owner, uuid = make_roof(), make_owner(), uuid4()
    told = {"coach": roof.coach, "owner": owner, "from_on": TODAY, "uuid": uuid}

    first = hand_over(by=office(), now=NOON, **told)
    again = hand_over(by=office(), now=LATER, **told)

    assert again.pk == first.pk
    assert Ownership.objects.filter(owner=owner).count() == 1


def test_a_corrected_report_sent_again_is_the_same():
    claim, uuid = make_claim(make_roof()), uuid4()
    first = claim.reports.get()

    for _ in range(2):
        told = claim_report(
            noticed_on=TODAY - timedelta(days=1),
            reported_on=TODAY,
            description="Water a day before.",
            estimate_cents=None,
            uuid=uuid,
            supersedes=first.uuid,
        )
        correct_claim(claim=claim, report=told, by=office(), now=LATER)

    assert ClaimReport.objects.count() == 2
