"""``manage.py make_demo`` fills an empty database, and only that."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import StringIO

import pytest
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db import transaction
from django.utils import timezone

from fleet.models import Coach, LedgerHead, Owner, User
from jobs import relay
from jobs.models import Lane, Message, MessageState, Run
from jobs.tasks import surroundings
from warranty.demo.fates import FEWEST_COACHES

pytestmark = pytest.mark.slow


def make_demo(*arguments: str) -> str:
    out = StringIO()
    call_command("make_demo", f"--coaches={FEWEST_COACHES}", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture(scope="module")
def first_telling(django_db_setup, django_db_blocker) -> Iterator[str]:
    """Make one demo for all tests here; it is gone afterwards."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield make_demo()
        transaction.set_rollback(True)


@pytest.fixture
def told(first_telling) -> Iterator[str]:
    """Yield what was told, and take back what the test does to the demo."""
    with transaction.atomic():
        yield first_telling
        transaction.set_rollback(True)


def signs_in(told: str, username: str) -> bool:
    password = re.search(rf"^  {username} +(\S+)", told, re.MULTILINE).group(1)
    return authenticate(username=username, password=password) is not None


def test_it_tells_three_sign_ins_that_work(told, settings):
    assert settings.SITE_URL in told
    for username in ("office", "technician", "fleet"):
        assert signs_in(told, username)


@pytest.mark.usefixtures("told")
def test_it_asks_for_two_packets():
    assert Run.objects.filter(kind="claim_packet").count() == 2


@pytest.mark.usefixtures("told")
def test_its_owners_are_told_at_once_and_only_in_files(settings, tmp_path):
    settings.EMAIL_FILE_PATH = str(tmp_path)
    settings.EMAIL_BACKEND = "jobs.notices.transport.SmtpBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    notices = Run.objects.filter(kind="send_message")
    assert notices.filter(available_at__lte=timezone.now()).exists()

    relay.sweep(surroundings(), lanes=[Lane.NOTICES])

    sent = Message.objects.filter(state=MessageState.SENT).count()
    assert sent == notices.filter(state="DONE").count() > 0
    assert len(list(tmp_path.iterdir())) >= 1


def test_a_second_time_keeps_the_fleet_and_tells_new_passwords(told):
    heads = set(LedgerHead.objects.values_list("entry_sha256", flat=True))

    again = make_demo("--seed=8")

    assert "here already" in again
    assert heads == set(LedgerHead.objects.values_list("entry_sha256", flat=True))
    assert signs_in(again, "office")
    assert not signs_in(told, "office")


@pytest.mark.usefixtures("told")
def test_fresh_refuses_a_database_that_holds_the_demo():
    with pytest.raises(CommandError, match="wants an empty one"):
        make_demo("--fresh")


@pytest.mark.usefixtures("told")
def test_the_fleet_manager_belongs_to_a_rental_fleet_with_coaches():
    manager = User.objects.get(username="fleet")

    assert manager.owner.kind == "rental_fleet"
    assert manager.owner.coaches.exists()


@pytest.mark.django_db
def test_it_never_mixes_with_real_records():
    owner = Owner.objects.create(name="Somebody", kind="private")
    Coach.objects.create(unit_no="1", length_m=9, width_m=2, holder=owner)

    with pytest.raises(CommandError, match="holds records"):
        make_demo()

    assert Coach.objects.count() == 1


def test_it_needs_enough_coaches_for_the_story():
    with pytest.raises(CommandError, match="or more"):
        call_command("make_demo", "--coaches=5")
