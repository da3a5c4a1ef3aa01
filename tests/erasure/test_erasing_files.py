"""Files go where a person asks for it; every check says erased, none says lost."""

from __future__ import annotations

import json
from datetime import timedelta
from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.test import TestCase
from django.utils import timezone

from fleet import store
from fleet.models import Damage, Exhibit, StoredFile
from fleet.selectors.file_verification import verify_files
from fleet.selectors.verification import verify_ledgers
from tests.builders import make_roof
from tests.exhibits import pictures
from tests.exhibits.sending import do_later_work, send, status_of
from tests.jobs.later import HandClock
from warranty.actions.erasure import erase_person

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@pytest.fixture
def evidence(world) -> dict[str, Exhibit]:
    """What the holder signed, a photo that shows them, one of the roof, a technician's
    sign-off."""
    facts = {
        "signed": {"kind": "SIGN_OFF", "signer_role": "OWNER"},
        "shows": {},
        "roof": {},
        "technician": {"kind": "SIGN_OFF", "signer_role": "TECHNICIAN"},
    }
    for place, (name, told) in enumerate(facts.items()):
        content = pictures.encoded(pictures.scene(at=place * 20), "PNG")
        uuid = uuid4()
        send(world.office, world.roof, content, uuid=uuid, **told)
        facts[name] = Exhibit.objects.get(uuid=uuid)
    do_later_work()
    return facts


def erase(world, *chosen: Exhibit) -> None:
    with TestCase.captureOnCommitCallbacks(execute=True):
        erase_person(
            owner=world.holder,
            why="their letter of 3 May",
            by=world.office_user,
            now=timezone.now(),
            exhibits=[each.uuid for each in chosen],
        )


def kept(evidence) -> set[str]:
    return {name for name, row in evidence.items() if store.has(row.sha256)}


def test_what_they_signed_and_the_photos_they_name_go(world, evidence):
    copies = StoredFile.objects.get(sha256=evidence["shows"].sha256).derivatives.all()

    erase(world, evidence["shows"])

    assert kept(evidence) == {"roof", "technician"}
    assert not any(store.has(copy.sha256) for copy in copies)


def test_every_check_says_erased_and_none_says_lost(world, evidence):
    erase(world, evidence["shows"])
    do_later_work(HandClock(timezone.now() + timedelta(days=40)))
    told = StringIO()

    call_command("verify", stdout=told)

    assert verify_ledgers().faults == []
    assert verify_files().faults == ()
    # Two originals and a copy of each: so small a picture has one for both sizes.
    assert "4 erased, 0 damaged" in told.getvalue()
    row = StoredFile.objects.get(sha256=evidence["shows"].sha256)
    assert row.damage == Damage.ERASED


def test_the_tombstone_names_the_files(world, evidence):
    erase(world, evidence["shows"])

    [record] = json.loads(world.roof.entries.latest("seq").payload)["records"]
    assert record["files"] == sorted(
        [evidence["shows"].sha256, evidence["signed"].sha256]
    )


def test_they_are_answered_as_erased(world, evidence):
    erase(world, evidence["shows"])
    address = f"/api/v1/exhibits/{evidence['shows'].uuid}"

    assert status_of(world.office, f"{address}/original") == 410
    assert world.office.get(address).json()["damage"] == "ERASED"


def test_what_another_roof_relies_on_stays(world, evidence):
    other = make_roof()
    content = store.fetch(evidence["shows"].sha256)
    send(world.office, other, content)

    erase(world, evidence["shows"])

    assert "shows" in kept(evidence)


def test_the_same_upload_again_does_not_bring_it_back(world, evidence):
    shown = evidence["shows"]
    content = store.fetch(shown.sha256)
    erase(world, shown)

    again = send(world.office, world.roof, content, uuid=shown.uuid)
    do_later_work(HandClock(timezone.now() + timedelta(days=1)))

    assert again.status_code == 200
    assert StoredFile.objects.get(sha256=shown.sha256).damage == Damage.ERASED


def test_a_mark_that_no_ledger_explains_is_a_fault(evidence):
    StoredFile.objects.filter(sha256=evidence["roof"].sha256).update(
        damage=Damage.ERASED
    )

    [fault] = verify_files().faults

    assert fault.reason == "it is marked erased and no ledger says so"
