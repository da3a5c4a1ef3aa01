"""Bytes that nobody names go after a safe age; bytes that a row names never do."""

from __future__ import annotations

import hashlib
import os
import time
from uuid import uuid4

import pytest
from django.conf import settings
from django.utils import timezone

from fleet import store
from fleet.models import Exhibit, StoredFile
from fleet.store import collect_unnamed
from fleet.store.place import place
from jobs import runs
from jobs.collecting import names_of
from tests.exhibits import pictures
from tests.exhibits.sending import do_later_work, send
from tests.exhibits.test_exhibit_store import bucket  # noqa: F401 - a fixture

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


@pytest.fixture(autouse=True)
def own_store(settings, tmp_path):
    """A store of the test's own: what else lies in the shared one is no matter."""
    settings.DATA_DIR = tmp_path


def grown_old(digest: str, days: float = 8) -> None:
    path = place().path_of(digest)
    then = time.time() - days * 86_400
    os.utime(path, (then, then))


def aside() -> list[str]:
    return os.listdir(settings.DATA_DIR / "files" / "aside")


def collect(**over: float):
    return collect_unnamed(names_of, **over)


@pytest.fixture
def refused(world) -> str:
    """An upload that was kept and then refused: its uuid stands for another file."""
    uuid, claim = uuid4(), uuid4()
    content = pictures.encoded(pictures.scene(at=7), "PNG")
    answer = send(world.office, world.roof, content, uuid=uuid, claim=claim)
    assert answer.status_code >= 400
    digest = hashlib.sha256(content).hexdigest()
    assert store.has(digest)
    return digest


def test_a_refused_upload_goes_in_two_steps(refused):
    grown_old(refused)

    assert collect().set_aside == 1
    assert (store.has(refused), aside()) == (False, [refused])
    assert collect().removed == 0
    assert collect(aside_s=-1).removed == 1
    assert aside() == []


def test_young_bytes_stay_their_row_may_be_on_its_way(refused):
    grown_old(refused, days=6)

    assert collect().set_aside == 0
    assert store.has(refused)


def test_what_a_row_names_stays(world):
    send(world.office, world.roof, pictures.photo())
    do_later_work()
    digests = list(StoredFile.objects.values_list("sha256", flat=True))
    for digest in digests:
        grown_old(digest)

    assert collect().set_aside == 0
    assert all(store.has(digest) for digest in digests)


def test_a_file_that_only_a_run_names_stays():
    digest = store.keep(b"a workbook on its way")
    grown_old(digest)
    runs.start(kind="import", payload={"file": digest}, by=None, now=timezone.now())

    assert collect().set_aside == 0


def test_an_upload_of_the_same_bytes_meanwhile_gets_them_back(world, refused):
    grown_old(refused)
    content = store.fetch(refused)
    collect()

    answer = send(world.office, world.roof, content)

    assert answer.status_code == 201
    collect(aside_s=-1)
    assert store.fetch(Exhibit.objects.get().sha256) == content


def test_bytes_set_aside_while_their_row_was_written_are_put_back(world, refused):
    grown_old(refused)
    send(world.office, world.roof, store.fetch(refused))
    # The race, made by hand: named by a row, and moved aside all the same.
    folder = settings.DATA_DIR / "files" / "aside"
    folder.mkdir()
    place().take_out(refused, folder / refused)

    assert collect().put_back == 1
    assert store.check(Exhibit.objects.get().sha256)


def test_bytes_written_anew_between_list_and_move_stay(refused, monkeypatch):
    grown_old(refused)
    content = store.fetch(refused)

    def named_late(digests: list[str]) -> set[str]:
        store.keep(content)  # an upload, before its row
        return set()

    assert collect_unnamed(named_late).set_aside == 0
    assert store.has(refused)


def test_an_object_store_is_collected_too(bucket):  # noqa: F811 - the fixture
    digest = store.keep(b"refused")

    done = collect_unnamed(lambda digests: set(), safe_age_s=-60)

    # Its clock is this machine's: what is younger than the limit is not listed.
    assert (done.set_aside, store.has(digest)) == (1, False)
